"""What is no measurement goes: spikes, steps, lags, offsets between loggers."""
