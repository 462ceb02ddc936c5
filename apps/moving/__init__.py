"""Backups of a whole installation, and single houses carried from one to another."""
