"""Labels for things, boxes and places: what stands on them, how they lie on the sheet or roll, what their code says."""
