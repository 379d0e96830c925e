"""The whole display: the record of decisions, checks between objects, arrangement, order."""
