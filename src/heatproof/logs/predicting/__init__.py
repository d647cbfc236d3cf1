"""A log as a duty of the model, and prediction beside measurement."""
