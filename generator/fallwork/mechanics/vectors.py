"""Vectors in the lab frame: (x, y), x forward along the level, y up.

Takes and gives pairs of floats.
"""

Vector = tuple[float, float]
DOWN: Vector = (0.0, -1.0)
NOTHING: Vector = (0.0, 0.0)


def dot(one: Vector, other: Vector) -> float:
    """Scalar product."""
    return one[0] * other[0] + one[1] * other[1]


def scaled(vector: Vector, factor: float) -> Vector:
    """factor × vector."""
    return tidy((vector[0] * factor, vector[1] * factor))


def tidy(vector: Vector) -> Vector:
    """The vector without negative zeros."""
    return (vector[0] + 0.0, vector[1] + 0.0)
