"""The papers of one mount: specification sheet, its views and words, outlines and setting gauges."""
