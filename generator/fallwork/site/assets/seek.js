/* Searches for a step or a question by the words in which people ask. What is searched comes as scripts when needed. */

const root = new URL("../../", /** @type {*} */(document.currentScript).src)
const told = window.fwSearch ??= {}
const loading = new Map()
const WEIGHTS = { title: 1, typed: 1, told: 0.4, below: 0.15 }
const EXTRA = 0.6  // what pages of no lab are worth
const [ALTERNATIVE, BEGUN, MISTYPED] = [0.6, 0.7, 0.6]
const NEXT = 0.2  // of an entry's next two texts
const LIGHT = 0.15  // of a word that says little; it begins with a tilde
const [MOST, LEAST] = [12, 0.3]  // hits, and how good the last one is beside the best

function load(name) {
  if (!loading.has(name)) {
    loading.set(name, new Promise((done, failed) => {
      const script = document.createElement("script")
      script.src = new URL(`search/${name}.js`, root).href
      script.onload = () => done(told[name])
      script.onerror = () => { loading.delete(name); failed(new Error(name)) }
      document.head.append(script)
    }))
  }
  return loading.get(name)
}

// ---- words

const simple = text => text.replace(/[\u2018\u2019]/g, "'").replace(/[\u2212\u2013]/g, "-")
  .replace(/(?<=\p{L})'(s|t|re|ve|ll|d|m)(?!\p{L})/gu, "")
  .replace(/(?<![\p{L}\d])(\d*[.,]?\d+) ?([gNJ])(?!\p{L})/gu, (_, number, unit) => `${number} ${unit === "g" ? "gram" : ""}`)
const cut = text => simple(text).match(/\p{L}+\p{N}*|\p{N}*[.,]?\p{N}+|[^\s\p{L}\p{N}]/gu) ?? []
const folded = word => stem(word.normalize("NFKD").replace(/\p{M}/gu, "").toLowerCase())

function stem(word) {
  if (word.length < 4 || /\d/.test(word)) return word
  let stemmed = word.replace(/ie[sd]$/, "y").replace(/(ss|sh|ch|x)es$/, "$1").replace(/([^su])s$/, "$1")
  const bare = stemmed.replace(/(ing|ed)$/, "")
  if (bare.length > 2 && /[aeiouy]/.test(bare)) stemmed = bare.replace(/([^aeiouls])\1$/, "$1")
  return stemmed.length > 3 ? stemmed.replace(/e$/, "") : stemmed
}

/* Gives the words of a text as they are compared: what means the same is the same. */
function reader({ filler, same }) {
  const empty = new Set(filler.split(" ")), ways = new Map()
  for (const [means, others] of Object.entries(same)) {
    for (const way of others) {
      const parts = cut(way).map(part => /^[A-Z]$/.test(way) ? part : folded(part))
      ways.set(parts[0], [...ways.get(parts[0]) ?? [], { parts, means: cut(means).map(folded) }])
    }
  }
  for (const each of ways.values()) each.sort((one, other) => other.parts.length - one.parts.length)
  return text => {
    const raw = cut(text), parts = raw.map(folded), found = []
    const begins = (way, at) => way.parts.every((part, n) => part === parts[at + n])
    for (let at = 0; at < parts.length; at++) {
      const letter = /^[A-Z]$/.test(raw[at]) && ways.get(raw[at])?.[0]
      const way = letter || ways.get(parts[at])?.find(each => begins(each, at))
      if (way) {
        found.push(...way.means)
        at += way.parts.length - 1
      } else if (/[.,]\d/.test(raw[at])) {
        found.push("number")
      } else if (/[\p{L}\p{N}]/u.test(raw[at])) {
        found.push(empty.has(raw[at].toLowerCase()) ? `~${parts[at]}` : parts[at])
      }
    }
    return found
  }
}

/* Whether two words differ by at most so many letters put in, left out, changed or exchanged. */
function near(one, other, most) {
  if (Math.abs(one.length - other.length) > most) return false
  let at = 0
  while (one[at] && one[at] === other[at]) at++
  const without = (left, right) => near(one.slice(at + left), other.slice(at + right), most - 1)
  const exchanged = one[at] === other[at + 1] && one[at + 1] === other[at]
  return one === other || most > 0 && (without(1, 1) || without(1, 0) || without(0, 1) || exchanged && without(2, 2))
}

const sum = numbers => numbers.reduce((one, other) => one + other, 0)

// ---- what can be found

/* The address of a part on one of the pages that have it: the one in view, or else one that is open. */
function placed(lab, pages, part) {
  const here = lab.pages.findIndex(([address]) => new URL(address, root).pathname === location.pathname)
  const best = !told.course.staff && pages.includes(here) ? here : pages.find(page => !lab.pages[page][2]) ?? pages[0]
  const [address, where, held] = lab.pages[best]
  return { address: address + part, where, held, lab: lab.title }
}

/* Of a lab: what its entries say, and where. */
const entriesOf = (lab, place) => lab.entries.map(([step, title, at, told, also, below, share, kind, typed]) => {
  const [address, where, held] = at
  const there = at.length > 2 ? { address, where, held } : placed(lab, ...at)
  const texts = { title: [title, ...also.split("|")], typed: typed.split("|"), told: [told], below: [below] }
  return { step, title, told, kind, ...there, share: share / (1 + 0.03 * place), texts }
})

/* Everything that was loaded, read and counted: words -> in how many entries they stand. */
function prepared(course, labs) {
  const words = reader(course), counts = new Map()
  const entries = labs.flatMap((lab, place) => entriesOf(told[lab.at], place))
  for (const [address, where, title, text] of course.entries ?? []) {
    entries.push({ step: address, title, told: "", address, where, held: "", share: EXTRA, texts: { title: [title, where], told: [text] } })
  }
  for (const entry of entries) {
    entry.said = Object.entries(entry.texts).flatMap(([kind, texts]) =>
      texts.map(text => ({ kind, words: new Set(words(text)) })))
    const all = new Set(entry.said.flatMap(each => [...each.words]))
    for (const word of all) counts.set(word, (counts.get(word) ?? 0) + 1)
  }
  const rare = (word, count = counts.get(word)) =>
    (word[0] === "~" ? LIGHT : 1) * Math.log(1 + entries.length / count) ** 0.5
  const either = new Map(Object.entries(course.either).map(each => [words(each[0])[0], words(each[1])]))
  return { words, entries, counts, rare, either }
}

/* The words that a typed one may stand for, each with how well it fits, and how telling it is. */
function meant(word, { counts, rare, either }) {
  const fits = new Map()
  const fit = (known, how) => fits.set(known, Math.max(how, fits.get(known) ?? 0))
  if (counts.has(word)) fit(word, 1)
  for (const other of either.get(word) ?? []) if (counts.has(other)) fit(other, ALTERNATIVE)
  const others = word[0] === "~" || counts.has(word) ? [] : [...counts.keys()].filter(known => /^[^~]../.test(known))
  if (word.length > 2) for (const known of others) if (known.startsWith(word)) fit(known, BEGUN)
  const most = word.length > 6 ? 2 : word.length > 3 ? 1 : 0
  if (!fits.size && most) for (const known of others) if (near(word, known, most)) fit(known, MISTYPED)
  const found = sum([...fits].map(([known, how]) => counts.get(known) * how))
  return { fits, worth: fits.size ? rare(word, Math.max(1, found)) : 0 }
}

/* How well an entry answers, by its best texts and what others have besides; and its best own one. */
function score({ said, share }, asked, { rare }) {
  const met = said.map(({ kind, words }) => {
    const weight = WEIGHTS[kind]
    const each = asked.map(({ fits, worth }) =>
      worth * Math.max(0, ...[...fits].map(([word, how]) => words.has(word) ? how : 0)))
    const all = sum([...words].map(word => rare(word)))
    const reached = sum([...words].map(word => asked.some(({ fits }) => fits.has(word)) ? rare(word) : 0))
    return { kind, weight, each, whole: weight * sum(each) * (0.5 + 0.5 * reached / (all || 1)) }
  })
  const [best, ...next] = met.sort((one, other) => other.whole - one.whole)
  const points = share * sum(asked.map(({ worth }, at) => {
    const rest = best.each[at] ? 0 : Math.max(...met.map(({ weight, each }) => weight * each[at]))
    return 0.4 * rest + 0.5 * worth * met.filter(({ each }) => each[at]).length / met.length
  }).concat(best.whole, next.slice(0, 2).map(each => NEXT * each.whole)))
  return { points, own: share * Math.max(...met.map(each => each.kind === "typed" ? 0 : each.whole)) }
}

/* The best hits first, of each step one before any other. */
function search(typed, known) {
  const asked = [...new Set(known.words(typed))].map(word => meant(word, known)).filter(each => each.worth)
  if (!asked.some(({ fits }) => [...fits.keys()].some(word => word[0] !== "~"))) return []
  const hits = known.entries.map(entry => ({ entry, ...score(entry, asked, known) }))
    .filter(hit => hit.points).sort((one, other) => other.points - one.points)
  const good = hits.filter(hit => hit.points >= LEAST * hits[0].points)
  const first = [...new Set(good.map(({ entry }) => entry.step))].map(step =>
    good.filter(({ entry }) => entry.step === step).reduce((one, other) => other.own + other.points > one.own + one.points ? other : one))
  return [...first, ...good.filter(hit => !first.includes(hit))].slice(0, MOST).map(hit => hit.entry)
}

window.fwSeek = { root, told, load, placed, prepared, search }
