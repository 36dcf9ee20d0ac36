/* A field that shows what a search finds: in a window of the header, and on staff's pages. */

const { root, told, load, prepared, search } = fwSeek
const { element, status, button, filled, data } = fallwork
const FIRST = 5  // hits seen at once; of numbers what is right, and the best other
const COPY = { className: "fw-copy" }

const curled = words => words.replace(/(?<=\p{L})'/gu, "’")  // as pages have it
/* With subscripts: what follows a low line. */
const lettered = words => curled(words).split(/_([\p{L}\p{N},]+)/u)
  .map((part, at) => at % 2 ? element("sub", part) : part)
const spoken = words => curled(words).replaceAll("_", " ")

/* A field with what it finds, put into a place of the page. */
function finder(place, label) {
  const field = element("input", [], { type: "search", autocomplete: "off", enterKeyHint: "search",
    autocapitalize: "off", spellcheck: false })
  const head = element("label", [label, field]), said = status("p"), list = element("ol")
  const count = element("summary"), rest = element("ol"), more = element("details", [count, rest], { hidden: true })
  const others = button("", () => widen().then(() => field.focus()), { ...COPY, hidden: true })
  const benches = element("details", [], { className: "fw-fold", hidden: true }), forms = new Map()  // by their labs
  place.append(head, said, list, more, others, benches)
  let known = null, within = [], first = [], these = "", wide = false, course = null, words = null, waited = null

  async function ready() {
    try {
      course = await load("course")
      const here = location.pathname.slice(root.pathname.length)
      const own = course.labs.filter(lab => decodeURI(here).startsWith(`${lab.at}/`))
      const current = course.labs.filter(lab => lab.state === "running" || lab.state === "closed")
      first = own.length ? own : current.length ? current : course.labs.slice(0, 3)
      words = course.words.finder
      these = own.length ? "this" : current.length > 1 ? "currents" : current.length ? "current" : "these"
      others.textContent = words.others
      within = wide ? [...first, ...course.labs.filter(lab => !first.includes(lab))] : first
      await Promise.all(within.map(lab => load(lab.at)))
      known = prepared(course, within)
      if (course.staff) within.forEach(askFor)
    } catch {
      waited = null
      said.textContent = "What can be found couldn’t be loaded. Try again."
    }
  }
  const opened = () => waited ??= ready()

  /* Fields for own numbers. */
  function askFor({ at, title }) {
    const { working, variants } = told[at], { offer, variant, clear } = course.words.bench, names = Object.keys(variants)
    if (forms.has(at) || !working?.givens.length) return
    data.words = { ...course.words, ...data.words }
    const form = fallwork.form(working, title, show)
    const fill = () => form.fill(variants[which.value]?.given)
    const which = element("select", ["", ...names].map(name => new Option(name)),
      { className: "fw-own-field", "aria-label": variant, onchange: fill })
    const back = button(clear, () => { which.value = ""; fill() }, { className: "fw-own-button" })
    if (!forms.size) benches.append(element("summary", offer))
    benches.append(element("div", [...names.length ? [element("label", [`${variant} `, which])] : [], ...form.parts, back]))
    forms.set(at, form)
    benches.hidden = false
  }

  function line({ kind, title, told: more, address, held, where, lab }) {
    const link = element("a", lettered(title), { href: new URL(address, root).href }), text = element("div", link)
    if (kind) text.prepend(element("strong", `${words[kind] ?? course.words.bench[kind]}: `))
    if (more) text.append(element("span", [" ", ...lettered(more)]))
    const of = lab && within.length > 1 ? `, ${lab}` : "", later = held ? filled(words.later, { when: held }) : ""
    text.append(element("small", ` ${where}${of}${later}`))
    if (!course.staff) return element("li", text)
    const whole = course.root && !/^\w+:/.test(address) ? `${course.root}/${address}` : address
    const copy = button("Copy", () => fallwork.offer(copy, spoken(title), whole, held),
      { ...COPY, "aria-label": `Copy link to: ${spoken(title)}` })
    return element("li", [text, copy])
  }

  /* What a number may be, in the labs of which a bench's own numbers are typed, or in all that are loaded. */
  function looked(number) {
    const asked = within.filter(lab => forms.get(lab.at)?.empty() === false)
    const own = new Map(asked.map(lab => [lab, forms.get(lab.at).read()]))
    const labs = !number ? [] : asked.length ? asked.filter(lab => !own.get(lab).why) : within
    const met = labs.flatMap(lab => fwNumbers.numbers(number, told[lab.at], known.words, own.get(lab)))
    const right = met.filter(hit => hit.kind === "right")
    const refused = asked.map(lab => own.get(lab).told).find(Boolean)
    return { met: [...right, ...met.filter(hit => !right.includes(hit))], right: right.length, own: asked.map(lab => lab.title).join(), refused }
  }

  /* What is said of a number, and whether nothing gives it. */
  function judged({ written }, { met, right, own }) {
    const is = course.words.bench, here = right && first.some(lab => met[0].address.startsWith(`${lab.at}/`))
    const more = own ? is.own : wide && !here ? right ? is.another : is.beyond : ""
    return filled(here ? is.is : is["is-not"], { number: written, labs: own || words[these], more }) + (met.length ? "" : is["no-mistake"])
  }

  function show() {
    if (!known) return
    const typed = field.value.trim(), number = course.staff && fwNumbers.numberIn(typed, course)
    const found = looked(number), { met, right, own, refused } = found, rest_ = number ? number.rest : typed
    const alone = number && (number.fine || met.length) && known.words(rest_).every(quantity)
    const unknown = alone ? known.entries.filter(({ address }) => address.endsWith(`#q-${course.unknown}`)).slice(0, 1) : []
    const worded = alone && met.length ? [] : search(alone ? rest_ : typed, known)
    const hits = alone && met.length ? met : [...unknown, ...worded.filter(hit => !unknown.includes(hit)), ...met]
    const seen = alone && met.length ? right + 1 : FIRST
    list.replaceChildren(...hits.slice(0, seen).map(line))
    rest.replaceChildren(...hits.slice(seen).map(line))
    more.hidden = hits.length <= seen
    more.open = false
    count.textContent = filled(words.more, { count: hits.length - seen })
    others.hidden = !typed || within.length === course.labs.length
    if (alone && !met.length && !own && these !== "this" && !others.hidden) widen()
    const counted = hits.length ? filled(words.found, { count: hits.length }) : words.none
    said.textContent = refused ?? (typed && (alone ? judged(number, found) : "") + counted)
  }
  const quantity = word => word[0] === "~" || within.some(lab => Object.values(told[lab.at].of)
    .some(([meaning, letter]) => known.words(`${meaning} ${letter}`).includes(word)))

  field.addEventListener("focus", () => opened().then(show))
  field.addEventListener("input", () => {
    if (Math.min(innerWidth, innerHeight) < 600) head.scrollIntoView({ block: "start" })
    opened().then(show)
  })
  function widen() {
    wide = true
    waited = ready()
    return waited.then(show)
  }
  field.addEventListener("keydown", ({ key }) => {
    if (key === "Enter") list.querySelector(course?.staff ? "li button" : "li a")?.click()
  })
  return field
}

/* The button in the header, with the window that it opens. */
const label = "Find a step or a question"
const box = element("div", [], { className: "fw-find" }), field = finder(box, label)
const window_ = element("dialog", [box, button("Close", () => window_.close(), COPY)],
  { className: "fw-dialog md-typeset", "aria-label": label })
window_.addEventListener("click", event => { if (event.target.closest("a")) window_.close() })
document.querySelector(".md-header__inner")?.append(button("Find", () => {
  window_.showModal()
  field.focus()
}, { className: "fw-open md-header__button" }))
document.body.append(window_)
for (const place of document.querySelectorAll("article div.fw-find")) finder(place, place.dataset.fwFind)
