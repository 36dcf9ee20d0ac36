/* On the solution: the printed working once more with a reader's own numbers (own.js). Digits change in place and are
   marked; where the motion would be of another kind, nothing changes. */

const { read, summed, rounded, guarded, asTyped, scaleOf, remembered, keep, element, status, button, putIn, form, data } =
  fallwork
const RESULTS = 4096 // marks from here on are of results: exact and rounded by turns

/** A sum of givens, or one of them, with all their digits, as on the page; null of what is neither. */
function ofGivens(working, tree, typed) {
  const [sign, ...ids] = Array.isArray(tree) ? tree : ["", tree]
  if (!["", "+", "-"].includes(sign) || !ids.every(id => working.values[id]?.[2])) return null
  const decimal = summed(ids.map(id => (typed[id] ?? read(working.values[id][2])).decimal))
  return decimal && asTyped({ decimal: { ...decimal, minus: decimal.minus !== (sign === "-") } })
}

/** What stands at a mark: a print. `typed`: givens as they were typed. */
function printOf(working, { values, results }, mark, typed) {
  if (mark < RESULTS) {
    const [id, unit, figures] = working.symbols[mark]
    if (typed[id]) return asTyped(typed[id])
    const formulas = [...working.results, ...working.others].filter(([of]) => of === id)
    const sum = formulas.map(([, tree]) => ofGivens(working, tree, typed)).find(Boolean)
    if (sum) return sum
    if (!Number.isFinite(values[id])) return { mantissa: "–" } // no formula on the page gives it
    return guarded(values[id] / scaleOf(unit), figures ?? working.digits)
  }
  const at = (mark - RESULTS) >> 1
  const [id, tree, unit] = working.results[at]
  const rounds = (mark - RESULTS) % 2
  const sum = id && !rounds && tree[0] === "+" && ofGivens(working, tree, typed)
  if (sum) return sum
  const figures = working.symbols.find(each => each[0] === id)?.[2] ?? working.digits
  return (rounds ? rounded : guarded)(results[at] / scaleOf(unit), figures)
}

/** @param {Print} print as MathML */
function mathml({ mantissa, exponent }) {
  const number = text => {
    const digits = text.replace("-", "")
    return text === digits ? `<mn>${digits}</mn>` : `<mo form="prefix" lspace="0" rspace="0">−</mo><mn>${digits}</mn>`
  }
  if (exponent === undefined) return number(mantissa)
  return `${number(mantissa)}<mo>×</mo><msup><mn>10</mn><mrow>${number(String(exponent))}</mrow></msup>`
}

fallwork.printOf = printOf

function offer(working, box) {
  const words = data.words.working
  const article = box.closest("article")
  const places = [...article.querySelectorAll("[data-fw]")].map(place => {
    const guard = place.parentElement.classList.contains("fw-guard") ? place.parentElement : place
    return { place, guard, mark: Number(place.dataset.fw), html: place.innerHTML, side: place.closest("math") }
  })
  const cards = [...article.querySelectorAll(".fw-card:has([data-fw])")].map(card => {
    const badge = element("p", words.mark, { className: "fw-yours-note", hidden: true })
    card.querySelector("header").after(badge)
    return { card, badge }
  })

  const memory = `${data.lab} working`
  const before = remembered(memory)
  const own = form(working, words.own, work, before)
  const lab = putIn(working, {}).now
  const said = status()
  const back = button(words.back, () => {
    own.fill()
    own.fields[0]?.input.focus()
  }, { className: "fw-own-button" })
  const fold = element("details", element("summary", words.offer), { className: "fw-fold", open: Object.keys(before).length > 0 })
  fold.append(element("div", [
    element("p", words["put-in"]), element("p", said, { className: "fw-own-said" }), ...own.parts, back,
  ]))
  box.append(fold)

  function work() {
    keep(memory, own.fields)
    const { now, typed, told } = own.read()
    show(now, typed, told ?? (Object.keys(typed).length ? words.changed : ""))
  }

  const numberAt = ({ values, results }, mark) =>
    mark < RESULTS ? values[working.symbols[mark][0]] : results[(mark - RESULTS) >> 1]

  function show(state, typed, told) {
    const mine = Object.keys(typed).length > 0
    for (const { place, guard, mark, html, side } of places) {
      const symbol = mark < RESULTS ? working.symbols[mark][0] : null
      const given = symbol !== null && symbol in working.values
      const number = numberAt(state, mark) // what has no formula changes with any
      const same = number !== undefined && Object.is(number, numberAt(lab, mark))
      const changed = mine && (given ? symbol in typed : !same)
      const print = changed ? printOf(working, state, mark, typed) : null
      place.innerHTML = changed ? mathml(print) : html
      place.classList.toggle("fw-yours", changed)
      guard.classList.toggle("fw-guard", changed ? Boolean(print.marked) : guard !== place)
      if (side.textContent.startsWith("≈")) { // what is exact isn't rounded once more
        const exact = changed && mark > RESULTS && !printOf(working, state, mark - 1, typed).marked
        side.style.display = exact ? "none" : ""
      }
    }
    for (const { card, badge } of cards) badge.hidden = !card.querySelector(".fw-yours")
    if (said.textContent !== told) said.textContent = told
    back.disabled = own.empty()
  }

  work()
}

const box = document.getElementById("own-givens")
if (data.working && box) offer(data.working, box)
