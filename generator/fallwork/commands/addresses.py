"""Writes down which addresses students have been given, and tells early if one would get lost.

Takes a course, what was published and the moment that it shows; writes published/addresses.yaml.
"""

from datetime import datetime
from pathlib import Path

from fallwork.commands.records import write_whole
from fallwork.pages import addresses
from fallwork.scenario.model import CourseData
from fallwork.site import folder
from fallwork.site.addresses import LostError, extended, read_record, record_path, record_text
from fallwork.site.publication import Publication


def write_addresses(root: Path, publication: Publication, moment: datetime) -> None:
    """Add the new addresses of a publication to the record of the course in ``root``."""
    before = read_record(root, existed=False)
    after = extended(before, publication.addresses, moment)
    if after != before:
        write_whole(record_path(root), record_text(after))
    folder.mark_recorded(publication.site)


def check_addresses(data: CourseData, now: datetime) -> None:
    """Raise ``LostError`` for addresses on record that the course's own pages no longer have.

    Pages written by hand aren't looked at: where their headings stand is known once they are built.
    """
    record = read_record(data.root, existed=bool(data.published))
    if not record:
        return
    present = {address.text for address in addresses(data, now)}
    folders = {"step", *(term.id for term in data.terms), *(term for term, _ in data.published)}
    lost = tuple(
        address
        for batch in record
        if batch.since <= now
        for address in batch.addresses
        if address.partition("/")[0] in folders and address not in present
    )
    if lost:
        raise LostError(lost)
