"""What happens by itself: plans after edits and at night, the morning brief, reminders."""
