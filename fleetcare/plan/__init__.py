"""Which day: to come. Nothing is here yet."""
