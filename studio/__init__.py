"""The site, and what was made and what happened to it. Nothing that judges (rubrics)."""
