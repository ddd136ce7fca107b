"""What the site prints for the table: the photo mat and the slips. Figures in, PDF bytes out."""
