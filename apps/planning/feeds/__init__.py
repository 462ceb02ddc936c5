"""Calendar feeds: what a person's or a trade's calendar is told, and was told before."""
