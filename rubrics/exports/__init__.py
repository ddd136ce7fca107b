"""Files that leave the site: results and grades, rubrics as CASE, a student's whole record."""
