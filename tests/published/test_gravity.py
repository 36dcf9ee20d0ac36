"""Local gravity against published values of the Geodetic Reference System 1980."""

import pytest

from fallwork.mechanics import normal_gravity

ELLIPSOID = """0 9.7803267715, 15 9.7837863976, 30 9.7932487036, 45 9.8061992025, 51.5 9.8120350076,
60 9.8191783850, 75 9.8286980584, 90 9.8321863685"""
HIGH = "0 9.777239699774, 45 9.803114329622, 90 9.829103709104"
MEASURED = """
North Pole 90 0 9.832, Greenland 70 20 9.825, Stockholm 59 45 9.818, Brussels 51 102 9.811,
Banff 51 1376 9.808, New York 41 38 9.803, Chicago 42 182 9.803, Denver 40 1638 9.796,
San Francisco 38 114 9.800, Canal Zone 9 6 9.782, Java -6 7 9.782, New Zealand -37 3 9.800"""
ROWS = [
    # On the ellipsoid: equator and pole as in GRS80 (Moritz 1980, read at DGFI); 45° also in the
    # NGS check value 9.806199203; the others from Somigliana's formula (the series agrees).
    *((f"{row.split()[0]} 0 {row.split()[1]}", 2e-10) for row in ELLIPSOID.split(",")),
    # At a thousand metres: the closed formula at height (package boule 0.6.0, GRS80). The free-air
    # term leaves out what goes with the square of the height and with latitude: up to 3.4 µm/s².
    *((f"{row.split()[0]} 1000 {row.split()[1]}", 3.5e-6) for row in HIGH.split(",")),
    # A textbook's table of measured values (Haverford, read at studylib.net, 7792546), by latitude
    # and height in m. The ground's own pull makes differences of up to 0.0012 m/s².
    *((row, 0.00125) for row in MEASURED.split(",")),
]


@pytest.mark.parametrize(("row", "within"), ROWS)
def test_published_values(row: str, within: float) -> None:
    latitude, height, published = map(float, row.split()[-3:])
    assert normal_gravity(latitude, height) == pytest.approx(published, abs=within)


def test_free_air_gradient() -> None:
    """0.3086 mGal per metre: the figure in common use, read at NPL's page on local gravity."""
    assert normal_gravity(50, 0) - normal_gravity(50, 100) == pytest.approx(3.086e-4, rel=1e-9)
