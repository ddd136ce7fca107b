"""What a printed sheet is put together from: styles, boxes for levels, photos, and how it fits."""
