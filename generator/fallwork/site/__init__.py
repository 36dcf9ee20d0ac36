"""Pages become a site: the last stage before the command line, and the only one with MkDocs.

Takes the pages and drawings of ``pages.build_pages`` and the hand-written ones; gives a folder
of HTML that needs no network, no script and no server. Knows no physics.

This file imports nothing, so that a command that builds no site doesn't pay for the docs
builder: ``publication.publish`` and ``publication.preview`` are what the command line calls,
``plugin.FallworkPlugin`` is what MkDocs loads.
"""
