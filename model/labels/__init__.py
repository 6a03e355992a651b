"""Labels: stock as data, layout in mm, drawing, and sheets. Only `drawing` and `sheets` touch Pillow."""
