"""From rows to the planner's question. Reads only."""
