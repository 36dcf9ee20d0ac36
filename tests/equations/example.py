"""A small page with numbers, written by hand: a cart pulled by a falling weight.

Values recomputed by hand from m_c = 0.4200 kg, m_w = 0.0800 kg, μ = 0.008, g = 9.80665 m/s² and
d = 0.600 m, to ten digits: a = 1.503163312 m/s², T = 0.664278935 N, v = 1.343054718 m/s,
W_T = 0.398567361 J, W_f = -0.0197702064 J, K_c = 0.3787971546 J.
"""

from math_core import LatexToMathML

_ROWS = (
    (r"m_\mathrm{c}", "kg", "0.4200"),
    (r"m_\mathrm{w}", "kg", "0.0800"),
    (r"\mu", "", "0.008"),
    ("g", "m/s²", "9.80665"),
    ("d", "m", "0.600"),
    ("a", "m/s²", r"\underline{1.5032}"),
    ("T", "N", r"\underline{0.66428}"),
    ("v", "m/s", r"\underline{1.3431}"),
    (r"W_\mathrm{T}", "J", r"\underline{0.39857}"),
    (r"W_\mathrm{f}", "J", r"\underline{-0.019770}"),
    (r"W_\mathrm{N}", "J", "0"),
    (r"K_\mathrm{c}", "J", r"\underline{0.37880}"),
    (r"\theta", "°", "30.0"),
    ("h", "m", "0.300"),
)

DISPLAY = (
    r"""\begin{aligned}
a &= \frac{m_\mathrm{w}\,g - \mu\,m_\mathrm{c}\,g}{m_\mathrm{c} + m_\mathrm{w}} \\
&= (0.0800\,\mathrm{kg} \times 9.80665\,\mathrm{m/s^2}
\allowbreak - 0.008 \times 0.4200\,\mathrm{kg} \times 9.80665\,\mathrm{m/s^2})
\allowbreak / (0.4200\,\mathrm{kg} + 0.0800\,\mathrm{kg}) \\
&= \underline{1.5032}\,\mathrm{m/s^2} \approx 1.50\,\mathrm{m/s^2} \end{aligned}""",
    r"""\begin{aligned} T &= m_\mathrm{w}\,(g - a) \\
&= 0.0800\,\mathrm{kg} \times (9.80665\,\mathrm{m/s^2} - \underline{1.5032}\,\mathrm{m/s^2}) \\
&= \underline{0.66428}\,\mathrm{N} \\ &\approx 0.664\,\mathrm{N} \\ v &= \sqrt{2\,a\,d} \\
&= \sqrt{2 \times \underline{1.5032}\,\mathrm{m/s^2} \times 0.600\,\mathrm{m}} \\
&= \underline{1.3431}\,\mathrm{m/s} \approx 1.34\,\mathrm{m/s} \end{aligned}""",
    r"""\begin{aligned} W_\mathrm{T} &= T\,d \\
&= \underline{0.66428}\,\mathrm{N} \times 0.600\,\mathrm{m} \\
&= \underline{0.39857}\,\mathrm{J} \approx 0.399\,\mathrm{J} \\
W_\mathrm{f} &= -\mu\,m_\mathrm{c}\,g\,d \\
&= -0.008 \times 0.4200\,\mathrm{kg} \times 9.80665\,\mathrm{m/s^2} \times 0.600\,\mathrm{m} \\
&= \underline{-0.019770}\,\mathrm{J} \approx -1.98 \times 10^{-2}\,\mathrm{J} \\
W_\mathrm{N} &= 0\,\mathrm{J} \end{aligned}""",
    r"""\begin{aligned} &W_\mathrm{T} + W_\mathrm{f} \\
&= \underline{0.39857}\,\mathrm{J} + (\underline{-0.019770}\,\mathrm{J}) \\
&= \underline{0.37880}\,\mathrm{J} \approx 0.379\,\mathrm{J} \\
&-W_\mathrm{f} = \underline{0.019770}\,\mathrm{J} \\
K_\mathrm{c} &= \frac{1}{2}\,m_\mathrm{c}\,v^2 \\
&= \frac{1}{2} \times 0.4200\,\mathrm{kg} \times (\underline{1.3431}\,\mathrm{m/s})^2 \\
&= \underline{0.37880}\,\mathrm{J} \approx 0.379\,\mathrm{J} \end{aligned}""",
    r"""\begin{aligned}
h &= d \sin\theta = 0.600\,\mathrm{m} \times \sin 30.0^\circ = 0.300\,\mathrm{m} \end{aligned}""",
)

INLINE = (
    r"T \lt m_\mathrm{w}\,g",
    r"W_\mathrm{T} + W_\mathrm{f} = K_\mathrm{c}",
    r"m_\mathrm{c} = 420.0\,\mathrm{g} = 0.4200\,\mathrm{kg}",
    r"m_\mathrm{w} \to 0",
    r"a \to g",
    "T",
    r"1.50\,\mathrm{m/s^2}",
    r"\frac{1}{2}\,m_\mathrm{c}\,v^2",
    r"T \lt 0.785\,\mathrm{N}",
    r"m_\mathrm{w}\,g \approx 0.785\,\mathrm{N}",
)

SLIP = ("a", r"\frac{m_\mathrm{w}\,g}{m_\mathrm{c}}", r"1.87\,\mathrm{m/s^2}")


def math(latex: str, *, display: bool = False) -> str:
    """A formula as the site would hold it."""
    converter = LatexToMathML(fancy_error=False)
    return converter.convert_with_local_state(latex, displaystyle=display)


def block(latex: str) -> str:
    """Rows as the site would hold them: what stands at the left, then pieces that may break."""
    cells = []
    rows = latex.removeprefix(r"\begin{aligned}").removesuffix(r"\end{aligned}").split(r"\\")
    for row in rows:
        left, _, right = row.rpartition("&")
        pieces = "".join(f"<span>{math(piece)}</span>" for piece in right.split(r"\allowbreak"))
        if left.strip():
            cells.append(f'<span class="fw-left">{math(left)}</span>')
        cells.append(f'<span class="fw-right">{pieces}</span>')
    return f'<div class="fw-formula">{"".join(cells)}</div>'


def page(
    *,
    rows: tuple[tuple[str, str, str], ...] = _ROWS,
    display: tuple[str, ...] = DISPLAY,
    inline: tuple[str, ...] = INLINE,
    slip: tuple[str, ...] = SLIP,
    values: bool = True,
) -> str:
    """The page as HTML; without ``values`` its list of symbols has three columns."""
    heads = ("Symbol", "Meaning", "Unit", "Value")[: 4 if values else 3]
    head = "".join(f"<th>{words}</th>" for words in heads)
    lines = []
    for symbol, unit, value in rows:
        cells = [math(symbol), "no. 7 of the <em>quantities</em>", unit]
        cells += [math(value)] if values else []
        lines.append("<tr>" + "".join(f"<td>{cell}</td>" for cell in cells) + "</tr>")
    table = f"<table><thead><tr>{head}</tr></thead><tbody>{''.join(lines)}</tbody></table>"
    blocks = "".join(map(block, display))
    sentences = "".join(f"<p>It is {math(latex)} here.</p>" for latex in inline)
    meant, *wrong = map(math, slip) if slip else [""]
    row = f"<tr><td>{meant}</td><td>{', here '.join(wrong)}</td><td>Inertia left out.</td></tr>"
    slips = f'<details class="fw-slips"><table><tr></tr>{row}</table></details>'
    return f"<html><body>{blocks}{sentences}{slips if slip else ''}{table}</body></html>"
