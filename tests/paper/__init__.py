"""The paper that the site prints, measured in the file and in a picture of it."""
