"""Backup, restore, and whether records and files agree."""
