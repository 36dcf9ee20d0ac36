"""Tells early if an address that students have been given would get lost.

Takes a course and the moment that its students see.
"""

from datetime import datetime

from fallwork.pages import addresses
from fallwork.scenario import CourseData
from fallwork.site.addresses import LostError, read_record


def check_addresses(data: CourseData, now: datetime) -> None:
    """Raise ``LostError`` for addresses on record that the course's own pages no longer have.

    Pages written by hand aren't looked at: where their headings stand is known once they are built.
    """
    record = read_record(data)
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
