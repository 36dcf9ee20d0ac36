"""Level tracks, inclines, pulleys, pushes and falls against published numbers.

Sources, read there: UP1 = OpenStax, University Physics Volume 1 (edition of 2026-06-11); CP2e =
OpenStax, College Physics 2e (edition of 2026-07-09); BMDW = Martin, Neary, Rinaldo, Woodman,
Introductory Physics: Building Models to Describe Our World (2025-05-16). Problems are counted in
document order; g = 9.80 m/s². Each case says what the book prints; the value with more digits was
recomputed from the book's data. "Reference": closed form at 50 digits, checked by a Lagrangian,
Kane's method and a numerical integration, g = 9.80665 m/s². On an upright surface a block falls
freely. At the end: what the model doesn't cover.
"""

import math
from dataclasses import replace

import pytest

from fallwork.mechanics import Apparatus, Solution, account, solve
from fallwork.mechanics.solution import End, Ending
from mechanics.kit import fixed, level_track, rig, slope, two_weights

G = 9.80
REFERENCE = level_track(0.5, 0.1, distance=0.8, friction=0.05)
HEAVY = fixed("pulley", mass=0.05, radius=0.03, inertia=2.25e-5, bearing_torque=0.0006)
READY = 0.7535540501  # μₛ of UP1 chapter 6, additional problem 111; prints 0.75
SKIER = 532.9089788  # N, which CP2e example 4.5 cuts off to 532
HILL = math.radians(2.5)

CASES: dict[str, tuple[Apparatus, float, dict[str, float]]] = {
    # ---- level tracks
    "UP1 section 6.1, problem 43: prints 2.0 m/s², 7.8 N, 2.0 m/s": (
        level_track(4.0, 1.0, distance=1.0, gravity=G),
        1e-9,
        {
            "accelerations cart": 1.96,
            "tensions string weight": 7.84,
            "end_velocities weight": 1.979898987,
        },
    ),
    "UP1 chapter 8, additional problem 71: prints 3.6 m/s after 2 m": (
        level_track(4.0, 2.0, distance=2.0, gravity=G),
        1e-9,
        {"end_velocities cart": 3.614784456},
    ),
    "Reference E1: cart 0.5 kg, weight 0.1 kg, μ 0.05, drop 0.8 m; the string goes slack": (
        REFERENCE,
        1e-11,
        {
            "accelerations cart": 1.22583125,
            "tensions string cart": 0.858081875,
            "duration": 1.14246958498,
            "end_velocities cart": 1.40047491945,
            "work tension of string on cart": 0.6864655,
            "work friction of track on cart": -0.196133,
            "work gravity of Earth on weight": 0.784532,
            "2 start_velocities cart": 1.40047491945,
            "2 accelerations cart": -0.4903325,
            "2 duration": 2.85617396246,
            "2 displacements cart": 2.0,
        },
    ),
    "Reference E9, the limit of a massless string: drop 1.0 m": (
        level_track(0.5, 0.1, distance=1.0),
        1e-11,
        {"duration": 1.10619141905},
    ),
    "Reference E10: the drive stays below μₛN": (
        level_track(0.5, 0.1, distance=0.8, static_friction=0.25),
        1e-11,
        {"size friction of track on cart": 0.980665, "tensions string cart": 0.1 * 9.80665},
    ),
    "Reference E10 at 12°": (
        level_track(0.75, 0.15, distance=0.8, slope_deg=12.0, static_friction=0.10),
        1e-11,
        {"size friction of track on cart": 0.0581903870685, "tensions string cart": 0.15 * 9.80665},
    ),
    # ---- two hanging weights
    "UP1 example 6.5: prints 3.27 m/s² and 26.1 N": (
        two_weights(2.0, 4.0, gravity=G),
        1e-9,
        {"accelerations right": 3.266666667, "tensions string left": 26.13333333},
    ),
    "Reference E3: disc of 50 g and 30 mm, bearing torque 0.0006 N m": (
        two_weights(0.2, 0.25, distance=0.9, pulley=HEAVY),
        1e-11,
        {
            "accelerations right": 0.990173684211,
            "tensions string left": 2.15936473684,
            "tensions string right": 2.20411907895,
            "duration": 1.34828145981,
            "end_velocities right": 1.33503282041,
        },
    ),
    "Reference E3 without bearing torque": (
        two_weights(0.2, 0.25, distance=0.9, pulley=replace(HEAVY, bearing_torque=0.0)),
        1e-11,
        {
            "accelerations right": 1.03227894737,
            "tensions string left": 2.16778578947,
            "tensions string right": 2.19359276316,
        },
    ),
    # ---- inclines
    "UP1 chapter 6, additional problem 109: prints 3.5 m/s² up": (
        level_track(4.0, 8.0, distance=1.0, friction=0.4, slope_deg=37, gravity=G),
        1e-9,
        {"accelerations cart": 3.523853858},
    ),
    "UP1 chapter 6, problem 44 (37° and 53°, 10 kg and 15 kg): prints no answer; recomputed": (
        rig(
            *("cart light 10.0 surface=gentle", "cart heavy 15.0 surface=steep", "fixed pulley"),
            *("track gentle slope=37", "track steep slope=-53"),
            string="light pulley heavy",
            run="heavy distance=1.0",
            gravity=G,
        ),
        2e-4,
        {"accelerations light": 2.337},
    ),
    "CP2e example 4.5: prints 4.14 m/s²; 532 N there is 532.9 cut off": (
        slope(60.0, -25, distance=1.0, gravity=G),
        1e-9,
        {"size normal of plane on block": SKIER, "accelerations block": 4.141658965},
    ),
    "CP2e example 4.5 with friction: prints 3.39 m/s²": (
        slope(60.0, -25, friction=45.0 / SKIER, distance=1.0, gravity=G),
        1e-9,
        {"accelerations block": 3.391658965},
    ),
    "UP1 example 6.11: 45.0 N on 62 kg at 25° makes 0.082": (
        slope(62.0, -25, friction=0.08171824614, distance=1.0, gravity=G),
        1e-9,
        {"size friction of plane on block": 45.0},
    ),
    "UP1 example 6.14: prints 0.29 m/s² downhill": (
        slope(70.0, -13, friction=0.2, speed=3.0, distance=1.0, gravity=G),
        1e-9,
        {"accelerations block": 0.2947550056},
    ),
    "UP1 example 6.14, the check after it: prints −0.23 m/s² downhill": (
        slope(70.0, -10.0, friction=0.2, speed=3.0, distance=1.0, gravity=G),
        1e-9,
        {"accelerations block": -0.2284710548},
    ),
    "CP2e section 5.1, problem 26: going up, prints 1.83 m/s², downhill": (
        slope(70.0, 5.0, friction=0.1, speed=3.0, distance=1.0, gravity=G),
        1e-9,
        {"accelerations block": -1.830397083},
    ),
    "UP1 section 6.1, problem 41: prints 3.35 m/s² and 4.2 s for 30.0 m": (
        slope(500.0, -20.0, distance=30.0, gravity=G),
        1e-9,
        {"accelerations block": 3.351797405, "duration": 4.230938816},
    ),
    "UP1 chapter 6, additional problem 111: nudged down, prints 1.2 m/s² with μₖ = 0.8 μₛ": (
        slope(100.0, -37.0, friction=0.8 * READY, speed=0.1, distance=1.0, gravity=G),
        1e-8,
        {"accelerations block": 1.179557445},
    ),
    # ---- pulleys with inertia, wheels
    "UP1 chapter 10, challenge problem 125: I 6.0 kg m², r 0.25 m, 40 N, 5.0 m: prints 8.0 rad/s": (
        rig(
            *("fixed cylinder inertia=6.0 radius=0.25", f"hanging weight {40.0 / G}"),
            cord="cylinder weight",
            run="weight distance=5.0",
            gravity=G,
        ),
        1e-9,
        {"end_angular_velocities cylinder": 7.996736692},
    ),
    "UP1 chapter 10, problem 94 (I 0.4 kg m², r 0.20 m): prints no answer; recomputed": (
        level_track(
            *(4.0, 2.0),
            distance=1.0,
            pulley=fixed("pulley", inertia=0.4, radius=0.20),
            gravity=G,
        ),
        1e-12,
        {"accelerations cart": 1.225},
    ),
    "Reference E11: 0.5 kg body, four discs of 20 g, 8°, 1 m": (
        rig("cart cart 0.58 wheel_mass=0.08", "track track slope=-8", run="cart distance=1.0"),
        1e-11,
        {
            "accelerations cart": 1.27676886533,
            "end_velocities cart": 1.59797926478,
            "duration": 1.25158069574,
        },
    ),
    "Reference E11, wheels without inertia: g sin 8°": (
        slope(0.58, -8, distance=1.0, gravity=9.80665),
        1e-11,
        {"accelerations block": 1.36482189053},
    ),
    # ---- pushes
    "CP2e example 7.5: 92 J + 3.75 J against 5.00 N; prints 19.2 m (19.15 m)": (
        slope(30.0, 0, friction=5 / (30 * G), speed=math.sqrt(2 * 95.75 / 30), gravity=G),
        1e-9,
        {"displacements block": 19.15},
    ),
    "CP2e example 7.9: 65.0 kg at 6.00 m/s against 450 N; prints 2.60 m": (
        slope(65.0, 0.0, friction=450 / (65 * G), speed=6.0, gravity=G),
        1e-9,
        {"displacements block": 2.6},
    ),
    "CP2e example 7.10, up 5°: prints 2.31 m": (
        slope(65.0, 5, friction=450 / (65 * G * math.cos(math.radians(5))), speed=6.0, gravity=G),
        1e-9,
        {"displacements block": 2.314456693},
    ),
    "UP1 chapter 8, problem 61: from 110 km/h it gets up to 47.6 m at 2.5°": (
        slope(750.0, 2.5, speed=110 / 3.6, until=110 / 3.6 / (G * math.sin(HILL)), gravity=G),
        1e-9,
        {"displacements block": 47.63479466 / math.sin(HILL)},
    ),
    "UP1 chapter 8, problem 61, to rest 22.0 m up; its 373 N is rounded (373.57 N)": (
        slope(
            *(750.0, 2.5),
            friction=373.571781 / (750.0 * G * math.cos(HILL)),
            speed=110 / 3.6,
            gravity=G,
        ),
        1e-8,
        {
            "displacements block": 22.0 / math.sin(HILL),
            "work friction of plane on block": -188415.7407,
        },
    ),
    "CP2e section 7.5, problem 50: 2.5 m up at 35°, μ 0.08, from 12.0 m/s; prints 9.46 m/s": (
        slope(
            *(60.0, 35.0),
            friction=0.08,
            speed=12.0,
            distance=2.5 / math.sin(math.radians(35.0)),
            gravity=G,
        ),
        1e-9,
        {"end_velocities block": 9.455245095},
    ),
    # ---- falls
    "CP2e example 7.7: 20.0 m down; prints 19.8 m/s": (
        slope(1.0, -90.0, distance=20.0, gravity=G),
        1e-9,
        {"end_velocities block": 19.79898987},
    ),
    "CP2e example 7.7, thrown with 5 m/s; prints 20.4 m/s": (
        slope(1.0, -90.0, speed=5.0, distance=20.0, gravity=G),
        1e-9,
        {"end_velocities block": 20.42057786},
    ),
    "CP2e example 2.16: 1.0000 m in 0.45173 s; prints 9.8010 m/s²": (
        slope(1.0, -90.0, distance=1.0, gravity=9.801039251),
        1e-9,
        {"duration": 0.45173},
    ),
    "UP1 example 3.14: 4.9 m/s downward, 98 m: 4.0 s and 44.1 m/s": (
        slope(1.0, -90.0, speed=4.9, distance=98.0, gravity=G),
        1e-12,
        {"duration": 4.0, "end_velocities block": 44.1},
    ),
    "UP1 example 6.9, without drag: from 50.0 m/s to 128 m (127.551 m)": (
        slope(10.0, 90.0, speed=50.0, until=50.0 / G, gravity=G),
        1e-9,
        {"displacements block": 127.5510204},
    ),
    "CP2e example 7.6: 60.0 kg fall 3.00 m and stop in 5.00 mm; prints 3.53e5 N": (
        rig(  # the string runs off a drum that takes up nothing
            *("fixed drum", "hanging person 60.0"),
            string="drum person",
            run="person distance=3.0",
            gravity=G,
        ),
        1e-12,
        {"1 work landing of bench on person": -352800.0 * 0.005},
    ),
    **{
        f"UP1 section 3.5, problem 67: thrown down with 14 m/s, after {t} s": (
            slope(1.0, 90.0, speed=-14.0, until=t, gravity=G),
            1e-12,
            {"displacements block": y, "end_velocities block": v},  # up is positive
        )
        for t, y, v in (
            *((0.5, -8.225, -18.9), (1.0, -18.9, -23.8), (1.5, -32.025, -28.7)),
            *((2.0, -47.6, -33.6), (2.5, -65.625, -38.5)),
        )
    },
}


def read(solution: Solution, what: str) -> float:
    """A quantity of a phase, of the first unless its number stands first."""
    number, words = (int(what[0]), what[2:]) if what[0].isdigit() else (0, what)
    phase, (name, *keys) = solution.phases[number], words.split()
    if name in ("work", "size"):
        (found,) = (each for each in phase.forces if each.name == " ".join(keys))
        return getattr(found, name)
    value = getattr(phase, name)
    for key in keys:
        value = value[key]
    return value


@pytest.mark.parametrize("source", CASES)
def test_the_published_number_comes_out(source: str) -> None:
    set_up, near, expected = CASES[source]
    solution = solve(set_up)
    found = {what: read(solution, what) for what in expected}
    assert found == pytest.approx(expected, rel=near)


@pytest.mark.parametrize(("m1", "m2"), [(4.0, 1.0), (0.512, 0.09), (0.25, 3.0)])
def test_formulas_in_symbols(m1: float, m2: float) -> None:
    """UP1 example 6.4: a = m₂g/(m₁ + m₂), T = m₁m₂g/(m₁ + m₂); section 6.1, check 6.3: 2T.

    BMDW, Newton's laws: a = g(m₁(sin θ − μ cos θ) − μm₂)/(m₁ + m₂) of a block on a level that one
    on an incline pulls.
    """
    driven = solve(level_track(m1, m2, distance=1.0, gravity=G)).phases[0]
    tension = m1 * m2 * G / (m1 + m2)
    assert driven.accelerations["weight"] == pytest.approx(m2 * G / (m1 + m2), rel=1e-12)
    assert driven.tensions["string"]["cart"] == pytest.approx(tension, rel=1e-12)
    pair = solve(two_weights(m1, m2, gravity=G)).phases[0]
    assert pair.tensions["string"]["right"] == pytest.approx(2 * tension, rel=1e-12)
    m1, m2, mu, theta = m1 + m2, m2 / 2, 0.15, math.radians(35)  # it slides down
    blocks = rig(
        *(f"cart level {m2} surface=table friction={mu}", "track table", "fixed pulley"),
        *(f"cart sloping {m1} surface=plane friction={mu}", "track plane slope=-35"),
        string="level pulley sloping",
        run="sloping distance=1.0",
        gravity=G,
    )
    wanted = G * (m1 * (math.sin(theta) - mu * math.cos(theta)) - mu * m2) / (m1 + m2)
    assert solve(blocks).phases[0].accelerations["level"] == pytest.approx(wanted, rel=1e-12)


def test_reference_energies_with_friction_and_of_a_heavy_pulley() -> None:
    """References E1 and E3."""
    driven = solve(REFERENCE).phases[0]
    cart, weight = (account(REFERENCE, driven, [name]) for name in ("cart", "weight"))
    both = account(REFERENCE, driven, ["cart", "weight", "string", "Earth"])
    assert cart.energy_changes["kinetic"] == pytest.approx(0.4903325, rel=1e-10)
    assert weight.energy_changes["kinetic"] == pytest.approx(0.0980665, rel=1e-10)
    assert both.energy_change == pytest.approx(-0.196133, rel=1e-10)
    heavy = two_weights(0.2, 0.25, distance=0.9, pulley=HEAVY)
    turning = account(heavy, solve(heavy).phases[0], ["pulley"]).energy_changes["rotational"]
    assert turning == pytest.approx(0.0222789078947, rel=1e-11)


def test_what_friction_stops_ends_at_rest() -> None:
    """CP2e example 7.5."""
    driven = solve(slope(30.0, 0, friction=0.02, speed=1.0, gravity=G)).phases[0]
    assert driven.ends == End(ending=Ending.RESTS, subject="block")


# ---- held or not


def crate(pull: float) -> Apparatus:
    """UP1 example 6.10's crate, pulled by a string that holds up the weight ``pull``."""
    return level_track(20.0, pull / G, distance=1.0, friction=0.6, static_friction=0.7, gravity=G)


@pytest.mark.parametrize("pull", [20.0, 30.0, 120.0])
def test_crate_stays_and_friction_is_what_is_needed(pull: float) -> None:
    """UP1 example 6.10: friction equals the pull up to 137 N (exactly 137.2 N)."""
    solution = solve(crate(pull))
    assert not solution.moves
    assert read(solution, "size friction of track on cart") == pytest.approx(pull, rel=1e-12)


def along_the_slope(pull: float, **more: float) -> Apparatus:
    """UP1 chapter 6, additional problem 111: a rope along the slope of 37°."""
    given = {"friction": 0.8 * READY, "slope_deg": 37.0, "gravity": G, "distance": 1.0, **more}
    return level_track(100.0, pull / G, **given)


@pytest.mark.parametrize(
    ("held", "moving"),
    [
        (crate(137.2), crate(137.2001)),  # UP1 example 6.10: 137 N (exactly 137.2 N)
        tuple(  # UP1 section 6.2, check after example 6.10: 1.0 kg with μₛ 0.5 moves from 4.9 N on
            level_track(1, n / G, distance=1, friction=0.4, static_friction=0.5, gravity=G)
            for n in (4.9, 4.9001)
        ),
        tuple(  # UP1 chapter 6, additional problem 111: it slips with anything less than μₛ
            slope(100.0, -37.0, friction=mu, distance=1.0, gravity=G)
            for mu in (READY, READY - 1e-6)
        ),
        # the same: the crate starts up at 1179.6 N; prints 1200 N
        tuple(along_the_slope(pull, static_friction=READY) for pull in (1179.5, 1179.7)),
    ],
)
def test_at_the_limit_and_beyond(held: Apparatus, moving: Apparatus) -> None:
    assert not solve(held).moves
    assert solve(moving).moves


def test_kinetic_friction_beyond_the_limit() -> None:
    """UP1 example 6.10: 118 N (exactly 117.6 N) rubs."""
    rubbing = read(solve(crate(180.0)), "size friction of track on cart")
    assert rubbing == pytest.approx(117.6)


@pytest.mark.parametrize(("pull", "speed"), [(1061.601701, 0.5), (117.9557445, -0.5)])
def test_steady_motion_along_the_slope(pull: float, speed: float) -> None:
    """UP1 chapter 6, additional problem 111: steady down at 120 N (117.96 N). Up, the book's
    1080 N doesn't follow from its data: 1061.6 N."""
    driven = solve(along_the_slope(pull, speed=speed)).phases[0]
    assert driven.accelerations["cart"] == pytest.approx(0.0, abs=1e-7)


# Not covered by the model, and why:
#   UP1 chapter 6, additional problem 123: a given force at an angle
#   UP1 chapter 6, additional problem 99: a given driving force on the body itself
#   UP1 example 6.8: a driving force that grows with time
#   UP1 example 6.12: blocks on top of each other
#   CP2e example 4.3: a given push of the floor
#   UP1 example 6.10 at 180 N, the check after it (a) and problem 111 (a upward): a constant pull,
#     where a weight that speeds up pulls less; what holds and what rubs is checked above
#   UP1 example 10.18; challenge problem 125, pull: a string pulled with a constant force
#   UP1 example 10.16: a force at the rim of a disc, and a rider on it
#   CP2e examples 7.2 to 7.4: a given push; the coasting after it is checked above
#   CP2e section 7.2, problem 39; UP1 section 7.3, problems 53 and 55: a given force
#   CP2e section 7.8, problem 78; section 8.2, problem 35; example 8.2: forces during an impact
#   UP1 examples 6.9 (with drag), 6.18, 8.8; section 6.4, problem 89 and check; references E6, E7,
#     E12: drag
#   Reference E9: a string with mass; its massless limit is checked with the level tracks
#   UP1 section 1.6, BMDW on measurement, references E13: statistics, not mechanics
