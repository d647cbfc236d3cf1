"""Logger files as they come: text, Parquet, MDF4; layouts, units, names, clocks."""
