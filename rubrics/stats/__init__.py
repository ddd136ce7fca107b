"""Progress over projects and agreement between readers. Pure: arrays in, frozen results out."""
