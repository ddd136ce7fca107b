"""What was sent and stays: published assessments, next steps and their answers."""
