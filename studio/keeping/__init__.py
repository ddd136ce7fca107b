"""The database and the files as a whole: backup, restore, and whether they agree.

No page and no rule of the work.
"""
