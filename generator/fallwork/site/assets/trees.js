/* Formulas as nested lists (`as_data` in lesson/trees.py), numbers as pages print them (lesson/rounding.py) and as
   people type them. A decimal: digits without leading zeros, as text, times a power of ten; a print: as `Printed` in
   Python. */

const FIGURES = 13 // of a float that are looked at: the last two or three may be noise of sums
const NOISE = 1e-12 // relative; what sums of floats leave behind
const GUARDS = 2 // more figures than the result has, on what is put into a further formula

/* ---- values */

const OF_SEVERAL = {
  "+": parts => {
    const whole = parts.reduce((one, other) => one + other, 0)
    return Math.abs(whole) > NOISE * Math.max(...parts.map(Math.abs)) ? whole : whole === whole ? 0 : NaN
  },
  "*": parts => parts.reduce((one, other) => one * other),
  "/": ([top, bottom]) => bottom === 0 ? NaN : top / bottom,
  "^": ([base, exponent]) => base ** exponent,
  "-": ([body]) => -body,
  degrees: ([angle]) => angle * 180 / Math.PI,
}

/** The value of a tree; `values`: of symbols by their ids, in SI units, angles in radians. NaN where it has none. */
function value(tree, values) {
  if (typeof tree === "number") return tree
  if (typeof tree === "string") return values[tree] ?? NaN
  const [sign, ...parts] = tree
  const values_ = parts.map(part => value(part, values))
  const found = OF_SEVERAL[sign]?.(values_) ?? Math[sign](...values_)
  return Number.isFinite(found) ? found : NaN
}

/** The ids of its symbols, each once. */
function symbols(tree) {
  if (typeof tree === "number") return []
  if (typeof tree === "string") return [tree]
  return [...new Set(tree.slice(1).flatMap(symbols))]
}

/* ---- decimals */

const ZERO = { minus: false, digits: "", exponent: 0 }

/** The decimal that a float stands for, to so many figures as it comes. */
function exact(number) {
  if (!Number.isFinite(number)) throw new RangeError(`${number} can't be printed`)
  const [mantissa, exponent] = Math.abs(number).toExponential(FIGURES - 1).split("e")
  const digits = mantissa.replace(".", "").replace(/0+$/, "")
  return digits ? { minus: number < 0, digits, exponent: Number(exponent) + 1 - digits.length } : ZERO
}

/** Rounded to so many figures, a tie away from zero, every one of them there. */
function toFigures({ minus, digits, exponent }, figures) {
  if (!digits) return ZERO
  const kept = digits.slice(0, figures).padEnd(figures, "0")
  let place = exponent + digits.length - figures
  let found = String(BigInt(kept) + (digits[figures] >= "5" ? 1n : 0n))
  if (found.length > figures) {
    found = found.slice(0, figures)
    place += 1
  }
  return { minus, digits: found, exponent: place }
}

const valueOf = ({ minus, digits, exponent }) => Number(`${minus ? "-" : ""}${digits || 0}e${exponent}`)

function plainly({ minus, digits, exponent }) {
  const sign = minus ? "-" : ""
  if (exponent >= 0) return sign + (digits ? digits + "0".repeat(exponent) : "0")
  const all = digits.padStart(1 - exponent, "0")
  return `${sign}${all.slice(0, exponent)}.${all.slice(exponent)}`
}

/** Plain where every digit of the number, and no other, can be printed so. */
function laidOut(decimal) {
  const { digits, exponent } = decimal
  const size = exponent + digits.length - 1
  if (!digits) return { mantissa: plainly({ ...decimal, minus: false, exponent: Math.min(exponent, 0) }) }
  if (size >= -3 && size <= 4 && exponent <= 0) return { mantissa: plainly(decimal) }
  return { mantissa: plainly({ ...decimal, exponent: exponent - size }), exponent: size }
}

/** A value with so many significant figures. */
const rounded = (number, figures) => laidOut(toFigures(exact(number), figures))

/** The digits put into a formula, marked where they are cut short. */
function guarded(number, figures) {
  const result = toFigures(exact(number), figures)
  if (Math.abs(number - valueOf(result)) <= NOISE * Math.abs(number)) return laidOut(result)
  for (let more = GUARDS; ; more += 1) {
    const found = toFigures(exact(number), figures + more)
    const again = toFigures(exact(valueOf(found)), figures)
    if (again.digits === result.digits && again.exponent === result.exponent) {
      return { ...laidOut(found), marked: true }
    }
  }
}

/* ---- what people type */

const RAISED = "⁻⁰¹²³⁴⁵⁶⁷⁸⁹"
const MINUS = /[−–—‐‑‒﹣-]/g
const NUMBER = /^([+-]?)(\d*)(?:[.,](\d*))?(?:(?:[x×·*]10\^?|e)([+-]?\d+))?$/i

/** A number, perhaps with a power of ten (1.2×10^-3, 1.2e-3, 1.2·10⁻³) and a unit behind it; null where it is none. */
function read(typed) {
  const plain = typed.replace(/[⁻⁰¹²³⁴-⁹]+/g, raised =>
    `^${raised.replace(/./g, sign => "-0123456789"[RAISED.indexOf(sign)])}`).replace(MINUS, "-").trim()
  // A unit begins with a letter or sign of its own, but not with the x of a power of ten.
  const [, front, unit] = plain.match(/^(.*?[\d.,])\s*((?:[a-zµμ°%Ω][^\d]*[²³2]?)?)$/i) ?? []
  const [, sign, whole, part = "", power = "0"] = (front ?? "").replace(/(?<=\d)\s(?=\d{3}(?!\d))/g, "")
    .replace(/\s*([x×·*])\s*/i, "$1").match(NUMBER) ?? []
  if (whole === undefined || !(whole + part)) return null
  const exponent = Number(power) - part.length
  if (Math.abs(exponent) > 30) return null
  const digits = (whole + part).replace(/^0+/, "")
  return { decimal: { minus: sign === "-", digits, exponent }, unit: unit.trim().replace("^2", "²"), raised: power !== "0" }
}

const shifted = (decimal, places) => ({ ...decimal, exponent: decimal.exponent + places })
const half = ({ exponent }) => Number(`5e${exponent - 1}`)

/** The sum of decimals to the last place of the least precise one; null where that would lose a digit. */
function summed(decimals) {
  const places = decimals.map(each => each.exponent)
  const [least, place] = [Math.min(...places), Math.max(...places)]
  const sizes = decimals.map(each => BigInt(each.digits || 0) * 10n ** BigInt(each.exponent - least))
  const sum = sizes.reduce((whole, size, at) => whole + (decimals[at].minus ? -size : size), 0n)
  const unit = 10n ** BigInt(place - least)
  const digits = String(sum / unit).replace("-", "").replace(/^0+$/, "")
  return place > 0 || sum % unit ? null : { minus: sum < 0n, digits, exponent: place }
}

/** The digits of a given, none added and none lost. */
const asTyped = ({ decimal, raised }) =>
  raised || decimal.exponent > 0 ? laidOut(decimal) : { mantissa: plainly(decimal) }

Object.assign(fallwork, /** @satisfies {Trees} */(
  { summed, value, symbols, rounded, guarded, read, shifted, half, valueOf, asTyped }))
