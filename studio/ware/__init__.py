"""What is true of clay, readings and units for both apps: pure, no Django, no table.

Not what a project does with them.
"""
