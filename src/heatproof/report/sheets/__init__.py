"""One sheet a reader: installer, customer, calibrator, core supplier, blanket supplier."""
