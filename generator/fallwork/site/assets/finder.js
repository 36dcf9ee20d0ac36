/* A field that shows what a search finds: in a window that a button of the header opens, and on top of
   staff's pages, where what is found can be copied. Without this script nothing of it is there. */
{
  const { root, told, load, prepared, search } = globalThis.fwSeek
  const FIRST = 5  // hits that are seen at once; of numbers what is right, and the best of the others

  const curled = words => words.replace(/(?<=\p{L})'/gu, "’")  // as pages have it
  const made = (name, words = "", more = {}) =>
    Object.assign(document.createElement(name), { textContent: curled(words) }, more)

  /* A field with what it finds, put into a place of the page. */
  function finder(place, label) {
    const field = made("input", "", { type: "search", autocomplete: "off", enterKeyHint: "search",
      autocapitalize: "off", spellcheck: false })
    const head = made("label", label), said = made("p"), list = made("ol"), more = made("details"), rest = made("ol")
    said.setAttribute("role", "status")
    const others = made("button", "Look in the other labs too", { type: "button", className: "fw-copy" })
    others.hidden = true
    head.append(field)
    more.append(made("summary", "More"), rest)
    more.hidden = true
    place.append(head, said, list, more, others)
    let known = null, within = [], first = [], these = "", wide = false, course = null, waited = null

    async function ready() {
      try {
        course = await load("course")
        const here = location.pathname.slice(root.pathname.length)
        const own = course.labs.filter(lab => decodeURI(here).startsWith(`${lab.at}/`))
        const current = course.labs.filter(lab => lab.state === "running" || lab.state === "closed")
        first = own.length ? own : current.length ? current : course.labs.slice(0, 3)
        these = own.length ? "this lab" : current.length ? `the current lab${current.length > 1 ? "s" : ""}` : "these labs"
        within = wide ? [...first, ...course.labs.filter(lab => !first.includes(lab))] : first
        await Promise.all(within.map(lab => load(lab.at)))
        known = prepared(course, within)
      } catch {
        waited = null
        said.textContent = "What can be found couldn’t be loaded. Try again."
      }
    }
    const opened = () => waited ??= ready()

    function line({ kind, title, told: words, address, held, where, lab }) {
      const item = made("li"), text = made("div")
      if (kind) text.append(made("strong", `${kind}: `))
      text.append(made("a", title, { href: new URL(address, root).href }))
      if (words) text.append(made("span", ` ${words}`))
      const of = lab && within.length > 1 ? `, ${lab}` : ""
      text.append(made("small", ` ${where}${of}${held ? `, not open to students before ${held}` : ""}`))
      item.append(text)
      if (course.staff) {
        const button = made("button", "Copy", { type: "button", className: "fw-copy" })
        button.setAttribute("aria-label", curled(`Copy link to: ${title}`))
        const whole = course.root && !/^\w+:/.test(address) ? `${course.root}/${address}` : address
        button.onclick = () => globalThis.fwOffer(button, curled(title), whole, held)
        item.append(button)
      }
      return item
    }

    function show() {
      if (!known) return
      const typed = field.value.trim(), number = course.staff && globalThis.fwNumbers.numberIn(typed, course)
      const isRight = hit => hit.kind === "Right"
      const met = (number ? within : []).flatMap(lab => globalThis.fwNumbers.numbers(number, told[lab.at], known.words))
        .sort((one, other) => isRight(other) - isRight(one))
      const words = number ? number.rest : typed
      const alone = number && (number.fine || met.length) && known.words(words).every(quantity)
      const hits = alone && met.length ? met : [...search(alone ? `another number ${words}` : typed, known), ...met]
      const right = met.filter(isRight).length  // those of the first labs stand first
      const here = right && first.some(lab => met[0].address.startsWith(`${lab.at}/`))
      const seen = alone && met.length ? right + 1 : FIRST
      list.replaceChildren(...hits.slice(0, seen).map(line))
      rest.replaceChildren(...hits.slice(seen).map(line))
      more.hidden = hits.length <= seen
      others.hidden = !typed || within.length === course.labs.length
      more.open = false
      more.firstChild.textContent = `${hits.length - seen} more`
      const beyond = wide && !here ? right ? ", but of another" : " or the others" : ""
      const judged = alone ? `${number.written} is ${here ? "a" : "no"} right result of ${these}${beyond}. ` : ""
      const common = alone && !met.length ? "No common mistake gives it. " : ""
      if (common && these !== "this lab" && !others.hidden) widen()
      const count = hits.length ? `Found: ${hits.length}.` : "Nothing found. Try other words."
      said.textContent = typed && judged + common + count
    }
    const quantity = word => word[0] === "~" || within.some(lab =>
      told[lab.at].of.some(([meaning, letter]) => known.words(`${meaning} ${letter}`).includes(word)))

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
    others.onclick = () => widen().then(() => field.focus())
    place.addEventListener("keydown", event => {
      const stops = [field, ...place.querySelectorAll("li a, li button")].filter(each => each.checkVisibility())
      const step = { ArrowDown: 1, ArrowUp: -1 }[event.key]
      const way = stops.indexOf(document.activeElement) + (step ?? 0)
      if (step && stops[way]) {
        event.preventDefault()
        stops[way].focus()
      } else if (event.key === "Enter" && event.target === field) {
        list.querySelector(course?.staff ? "li button" : "li a")?.click()
      }
    })
    return field
  }

  /* The button in the header, with the window that it opens. */
  const window_ = made("dialog", "", { className: "fw-dialog md-typeset" })
  const box = made("div", "", { className: "fw-find" })
  const label = "Find a step or a question"
  window_.setAttribute("aria-label", label)
  const close = made("button", "Close", { type: "button", className: "fw-copy" })
  close.onclick = () => window_.close()
  const field = finder(box, label)
  window_.append(box, close)
  const open = made("button", "Find", { type: "button", className: "fw-open md-header__button" })
  open.onclick = () => {
    window_.showModal()
    field.focus()
  }
  window_.addEventListener("click", event => { if (event.target.closest("a")) window_.close() })
  document.querySelector(".md-header__inner")?.append(open)
  document.body.append(window_)
  for (const place of document.querySelectorAll("article .fw-find")) finder(place, place.dataset.fwFind)
}
