"""For a Python session: projects and variants with every question as a method, answers as tables with units."""
