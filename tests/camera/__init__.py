"""The camera, held against rendered cups, published examples and general libraries."""
