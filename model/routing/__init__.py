"""Ways through the model, wires and their cut lengths, merges, and what follows from an edit."""
