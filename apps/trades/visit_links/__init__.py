"""A trade's own address for one visit, and what the trade answered there."""
