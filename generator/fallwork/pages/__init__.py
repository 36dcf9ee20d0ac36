"""Lessons and figures become pages: Markdown with formulas in LaTeX, and SVG drawings.

Takes a course's data, the moment and the edition; gives the files of the site's source folder,
in memory. Knows nothing of the docs builder, touches no file and asks no clock.
"""

from fallwork.pages.asked import check_recordings
from fallwork.pages.build import GENERAL, Pages, addresses, build_pages, pages_of
from fallwork.pages.heldback import Answer, HeldBack, held_back, open_records, written
from fallwork.pages.made import Listed
from fallwork.pages.markdown import PageFile
