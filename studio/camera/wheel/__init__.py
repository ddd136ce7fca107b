"""A cup on a mat that is turned between the photos: all photos solved together.

`door.read_turned` is the way in.
"""
