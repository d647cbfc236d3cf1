"""Where parts are in the bay: shapes, meshes, view factors, clearances, local peaks.

Knows nothing of kits, networks or project files. Lengths in metres, areas in m2, temperatures in K.
Axes: x rearwards, y to the right of the driver, z up; this is a right-handed set.
The geometry library is an optional extra: functions that need it say how to install it when called.
"""
