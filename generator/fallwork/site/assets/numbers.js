/* For staff: what a number that somebody got may be in a lab, with its quantity and unit where they are known, by the
   numbers that come with what is searched (pages/finding.py). */
{
  const { placed } = globalThis.fwSeek
  const { read, valueOf, half: halfOf } = window.fallwork
  const NUMBER = /(?<![\p{L}\d.,])[-+−]?[\d.,]*\d[.,]?(?:e[-+−]?\d+| ?[x×·*] ?10\^?[-+−\d⁻⁰¹²³⁴-⁹]+)?/iu

  /* The first number typed: its value and half of its last place in the unit of its kind, and the words beside it. */
  function numberIn(typed, { units }) {
    const [all] = NUMBER.exec(typed) ?? []
    const number = all && read(all)
    if (!number) return null
    const at = typed.indexOf(all), after = typed.slice(at + all.length).trimStart()
    const follows = unit => after.startsWith(unit) && !/^[\p{L}\d/]/u.test(after.slice(unit.length))
    const name = Object.keys(units).filter(follows).sort((one, other) => other.length - one.length)[0] ?? ""
    const [factor, of] = units[name] ?? [1, ""]
    const rest = `${typed.slice(0, at)} ${after.slice(name.length)}`.replace(/(?<!\ba ?)[=\u2248~:]/g, " ")
    const [value, half] = [valueOf({ ...number.decimal, minus: false }), halfOf(number.decimal)].map(each => each * factor)
    return { value, half, of, fine: number.decimal.exponent < 0 || !!name, written: all, rest }
  }

  /* What a number may be in a lab: what is right first, then mistakes, then what follows from one. */
  function numbers({ value, half, of, rest }, lab, words) {
    const asked = words(rest).filter(word => word[0] !== "~")
    const named = lab.of.map(([meaning, letter]) => {
      const own = words(`${meaning} ${letter}`)
      return asked.filter(word => own.includes(word)).length
    })
    const most = Math.max(0, ...named)
    const off = row => Math.abs(Math.abs(row[0]) - value)
    const pick = (rows, good) => rows
      .filter(row => good(row) && (!of || lab.of[row[1]][2] === of) && named[row[1]] === most)
      .sort((one, other) => off(one) - off(other))
    const met = row => off(row) <= half * (1 + 1e-9)
    const accepted = row => off(row) <= Math.abs(row[0]) * row[3] && half < Math.abs(row[0]) * 0.05
    const exact = pick(lab.right, met), wrong = pick(lab.wrong, met)
    const right = exact.length || wrong.length ? exact : pick(lab.right, accepted)

    const shown = ([found, quantity], figures = lab.digits) => {
      const [meaning, letter, unit] = lab.of[quantity]
      const digits = Math.abs(found) < 10 ** figures ? found.toPrecision(figures) : Math.round(found)
      return `${meaning}, ${letter} = ${digits} ${unit}`.trim()
    }
    const row = ([, , step, id, , pages]) => placed(lab, pages, `${lab.steps[step][0]}-${id}`)
    const rights = right.map(each => (
      { kind: "Right", title: shown(each, each[4]), told: "", ...placed(lab, [each[5]], lab.steps[each[2]][0]) }))
    const wrongs = wrong.map(each => ({ kind: "Mistake", title: shown(each), told: each[4], ...row(each) }))
    const follows = pick(lab.follows, met).map(each => {
      const from = lab.wrong[each[3]]
      const told = `It follows from ${shown(from)}: ${from[4]}`
      return { kind: "Follows from a mistake", title: shown(each), told, ...row(from) }
    })
    return [...rights, ...wrongs, ...follows]
  }

  globalThis.fwNumbers = { numberIn, numbers }
}
