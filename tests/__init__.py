"""What the code promises, stated folder by folder as the code is laid out."""
