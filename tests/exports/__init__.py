"""Files that leave the site, held against what was published of their formats."""
