"""From a photograph to millimetres: OpenCV and numpy. No Django, no rows."""
