def test_x() -> None:
    pass
