"""Writes down which addresses students have been given, so that none gets lost.

Takes a course, what was published and the moment that it shows; writes published/addresses.yaml.
"""

from datetime import datetime
from pathlib import Path

from fallwork.commands.records import write_whole
from fallwork.site import folder
from fallwork.site.addresses import extended, read_record, record_path, record_text
from fallwork.site.publication import Publication


def write_addresses(root: Path, publication: Publication, moment: datetime) -> None:
    """Add the new addresses of a publication to the record of the course in ``root``."""
    before = read_record(root, existed=False)
    after = extended(before, publication.addresses, moment)
    if after != before:
        write_whole(record_path(root), record_text(after))
    folder.mark_recorded(publication.site)
