"""Long lists come in parts that add up to the same bytes."""

from __future__ import annotations

import json
from datetime import date

import pytest

from fleetcare.show.values import ROWS_A_PART, as_json, as_ndjson, json_parts, ndjson_parts

DAY = date(2031, 6, 1)


@pytest.mark.parametrize("count", [0, 1, 2, ROWS_A_PART, ROWS_A_PART + 1, 3 * ROWS_A_PART])
def test_rows_in_parts_are_the_whole(count: int) -> None:
    rows = [
        {"engine": f"Plöver {number}", "life": number / 7, "why": None} for number in range(count)
    ]
    whole = {"fleetcare": 1, "as_of": "2031-06-01", "readings": [1, {"a": "]}"}], "rows": rows}
    assert as_json(rows, DAY, readings=[1, {"a": "]}"}]) == json.dumps(whole, ensure_ascii=False)
    lines = [json.dumps(row, ensure_ascii=False) for row in rows]
    assert as_ndjson(rows) == "\n".join(lines)


def test_no_part_holds_more_rows_than_it_may() -> None:
    made = 0

    def rows() -> object:
        nonlocal made
        for number in range(10 * ROWS_A_PART):
            made += 1
            yield {"n": number}

    parts = json_parts(rows(), DAY)  # type: ignore[arg-type]
    next(parts)
    assert made == 0
    next(parts)
    assert made == ROWS_A_PART
    assert len(list(ndjson_parts(rows()))) == 10  # type: ignore[arg-type]
