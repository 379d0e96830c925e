"""The drill, rod and material tables, each row with its source."""
