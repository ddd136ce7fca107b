"""Input into rubrics and marks passes here."""
