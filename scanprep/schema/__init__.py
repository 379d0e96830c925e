"""The published JSON Schemas."""
