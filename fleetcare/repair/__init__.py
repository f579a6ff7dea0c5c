"""When it broke: to come. Nothing is here yet."""
