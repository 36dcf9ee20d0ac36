"""Planning: takes the numbers of a lab; gives what follows from them for choosing others.

New numbers out of an inventory; which results a set has, and whether it gives clean data; a worked
example whose results aren't those of the lab; whether a lab is still what was published of it; and
which of its results can be read elsewhere. Knows nothing of pages.
"""
