"""Published assessments, frozen as they were sent; next steps and their answers."""
