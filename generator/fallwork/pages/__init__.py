"""Lessons and figures become pages: Markdown with formulas in LaTeX, and SVG drawings.

Takes a course's data, the moment and the edition; gives the files of the site's source folder,
in memory. Knows nothing of the docs builder, touches no file and asks no clock.
"""
