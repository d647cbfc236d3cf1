"""The local page: an HTTP interface over a project, and the page that draws it.

All physics, units and judgement are in Python; the page draws what it is given and sends edits back.
"""
