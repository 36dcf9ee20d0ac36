/* Searches for a step or a question by the words in which people ask, and for staff for a number that
   somebody got. What is searched comes as scripts when it is needed, so that it works from a folder;
   finder.js shows what was found. */
{
  const root = new URL("../../", document.currentScript.src)
  const told = globalThis.fwSearch ??= {}
  const loading = new Map()
  const WEIGHTS = { asked: 1, title: 0.9, idea: 0.45, answer: 0.35, below: 0.15 }
  const [OVERVIEW, WATCHED, GENERAL] = [0.85, 0.6, 0.6]  // what an entry is worth beside a step's
  const [ALTERNATIVE, BEGUN, MISTYPED] = [0.6, 0.7, 0.6]
  const [MOST, LEAST] = [12, 0.3]  // hits, and how good the last one is beside the best

  function load(name) {
    if (!loading.has(name)) {
      loading.set(name, new Promise((done, failed) => {
        const script = document.createElement("script")
        script.src = new URL(`search/${name}.js`, root)
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
    .replace(/(?<!\p{L})(are|ca|could|did|do|does|had|has|have|is|should|was|were|wo|would)nt(?!\p{L})/giu, "$1n")
    .replace(/(?<![\p{L}\d])(\d*[.,]?\d+) ?g(?!\p{L})/gu, "$1 gram")
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
        } else if (/[\p{L}\p{N}]/u.test(raw[at]) && !empty.has(raw[at].toLowerCase())) {
          found.push(parts[at])
        }
      }
      return found
    }
  }

  /* Whether two words differ by at most so many letters put in, left out, changed or exchanged. */
  function near(one, other, most) {
    if (Math.abs(one.length - other.length) > most) return false
    let before = [], row = [...other, ""].map((_, at) => at)
    for (let i = 1; i <= one.length; i++) {
      const next = [i]
      for (let j = 1; j <= other.length; j++) {
        const changed = one[i - 1] === other[j - 1] ? 0 : 1
        next[j] = Math.min(row[j] + 1, next[j - 1] + 1, row[j - 1] + changed)
        const exchanged = changed && one[i - 1] === other[j - 2] && one[i - 2] === other[j - 1]
        if (exchanged) next[j] = Math.min(next[j], before[j - 2] + 1)
      }
      [before, row] = [row, next]
    }
    return row[other.length] <= most
  }

  // ---- what can be found

  /* The address of a part on one of the pages that have it: on the one in view, or else on one that is open. */
  function placed(lab, pages, id) {
    const here = lab.pages.findIndex(([address]) => new URL(address, root).pathname === location.pathname)
    const best = !told.course.staff && pages.includes(here) ? here : pages.find(page => !lab.pages[page][2]) ?? pages[0]
    const [address, page, held] = lab.pages[best]
    return { address: `${address}#${id}`, held, where: page, lab: lab.title }
  }

  /* The entries of a lab: what they say, and where. */
  function* entriesOf(lab, { at }) {
    const place = (pages, id) => placed(lab, pages, id)
    for (const [id, words, more = ""] of lab.parts) {
      const fields = { title: [words, ...more.split("|")] }
      yield { step: `${at}#${id}`, title: words, told: "", ...place([0], id), share: OVERVIEW, fields }
    }
    for (const [id, words, idea, also, pages, below] of lab.steps) {
      const fields = { title: [words, ...also.split("|")], idea: [idea], below: [below] }
      yield { step: id, title: words, told: idea, ...place(pages, id), fields }
    }
    for (const [id, step, words, also, answer, page] of lab.asked) {
      const fields = { asked: [words, ...also.split("|")], title: [lab.steps[step][1]], answer: [answer] }
      yield { step: lab.steps[step][0], title: words, told: answer, ...place([page], `q-${id}`), fields }
    }
    for (const [step, recording, time, address, held] of lab.watched) {
      const [id, title] = lab.steps[step]
      const fields = { title: [`recording ${title}`] }
      const where = `${recording}, at ${time}`
      yield { step: `${id}@${address}`, title, told: "", address, held, where, lab: lab.title, share: WATCHED, fields }
    }
  }

  /* Everything that was loaded, read and counted: words -> in how many entries they stand. */
  function prepared(course, labs) {
    const words = reader(course), entries = [], counts = new Map()
    labs.forEach((lab, at) => {
      for (const entry of entriesOf(told[lab.at], lab)) {
        entries.push({ ...entry, share: (entry.share ?? 1) / (1 + 0.03 * at) })
      }
    })
    for (const [address, title, part, text] of course.entries ?? []) {
      const fields = { title: [part, title], answer: [text] }
      entries.push({ step: address, title: part, told: "", address, held: "", where: title, fields, share: GENERAL })
    }
    for (const entry of entries) {
      entry.said = Object.entries(entry.fields).flatMap(([field, texts]) =>
        texts.map(text => ({ weight: WEIGHTS[field], words: new Set(words(text)) })))
      const all = new Set(entry.said.flatMap(each => [...each.words]))
      for (const word of all) counts.set(word, (counts.get(word) ?? 0) + 1)
    }
    const rare = count => Math.log(1 + entries.length / count) ** 0.75
    const either = new Map(Object.entries(course.either).map(each => [words(each[0])[0], words(each[1])]))
    return { words, entries, counts, rare, either }
  }

  /* The words that a typed one may stand for, each with how well it fits, and how telling it is. */
  function meant(word, { counts, rare, either }) {
    const fits = new Map()
    const fit = (known, how) => fits.set(known, Math.max(how, fits.get(known) ?? 0))
    if (counts.has(word)) fit(word, 1)
    for (const other of either.get(word) ?? []) if (counts.has(other)) fit(other, ALTERNATIVE)
    const others = [...counts.keys()].filter(known => known.length > 2 && known !== word)
    if (!counts.has(word) && word.length > 2) for (const known of others) if (known.startsWith(word)) fit(known, BEGUN)
    const most = word.length > 6 ? 2 : word.length > 3 ? 1 : 0
    if (!fits.size && most) for (const known of others) if (near(word, known, most)) fit(known, MISTYPED)
    const found = [...fits.keys()].reduce((sum, known) => sum + counts.get(known) * fits.get(known), 0)
    return { fits, worth: fits.size ? rare(Math.max(1, found)) : 0 }
  }

  /* How well an entry answers: by that of its texts which has most of what is asked and least beside, by what
     its other texts have of the rest, and by how many of them have a word. */
  function score({ said, share }, asked, { counts, rare }) {
    const sum = numbers => numbers.reduce((one, other) => one + other, 0)
    const met = said.map(({ weight, words }) => {
      const each = asked.map(({ fits, worth }) =>
        worth * Math.max(0, ...[...fits].map(([word, how]) => words.has(word) ? how : 0)))
      const all = sum([...words].map(word => rare(counts.get(word))))
      const reached = sum([...words].map(word => asked.some(({ fits }) => fits.has(word)) ? rare(counts.get(word)) : 0))
      return { weight, each, whole: weight * sum(each) * (0.5 + 0.5 * reached / (all || 1)) }
    })
    const best = met.reduce((one, other) => other.whole > one.whole ? other : one)
    return share * sum(asked.map(({ worth }, at) => {
      const rest = best.each[at] ? 0 : Math.max(...met.map(({ weight, each }) => weight * each[at]))
      return 0.4 * rest + 0.5 * worth * met.filter(({ each }) => each[at]).length / met.length
    }).concat(best.whole))
  }

  /* The best hits first; of each step one, the others after these. */
  function search(typed, known) {
    const asked = [...new Set(known.words(typed))].map(word => meant(word, known)).filter(each => each.worth)
    if (!asked.length) return []
    const hits = known.entries.map(entry => ({ entry, points: score(entry, asked, known) }))
      .filter(hit => hit.points).sort((one, other) => other.points - one.points)
    const good = hits.filter(hit => hit.points >= LEAST * hits[0].points).map(hit => hit.entry)
    const first = good.filter((entry, at) => good.findIndex(each => each.step === entry.step) === at)
    return [...first, ...good.filter(entry => !first.includes(entry))].slice(0, MOST)
  }

  // ---- numbers that somebody got

  /* What was typed as a number: its value and half of its last place in the unit of its kind, and
     the words beside it; nothing if there is none. */
  function numberIn(typed, { units }) {
    const text = simple(typed).replace(/ gram(?!\p{L})/gu, " g")
    const found = /([-+]?)(\d+(?:[.,]\d*)?|[.,]\d+)(?:(?:[eE]| ?[x\u00d7\u00b7*] ?10 ?\^?)([-+]?\d+))?/u.exec(text)
    if (!found) return null
    const [all, sign, digits, power = "0"] = found
    const after = text.slice(found.index + all.length).trimStart()
    const follows = unit => after.startsWith(unit) && !/^[\p{L}\d/]/u.test(after.slice(unit.length))
    const name = Object.keys(units).filter(follows).sort((one, other) => other.length - one.length)[0] ?? ""
    const [factor, of] = units[name] ?? [1, ""]
    const rest = `${text.slice(0, found.index)} ${after.slice(name.length)}`.replace(/[=\u2248~:]/g, " ")
    const places = digits.split(/[.,]/)[1]?.length ?? 0
    const value = Number(digits.replace(",", ".")) * 10 ** Number(power) * factor
    const half = 0.5 * 10 ** (Number(power) - places) * factor
    return { value, half, of, fine: places > 0 || !!name, written: `${sign}${digits}`, rest }
  }

  /* What a number may be in a lab: what is right first, then mistakes, then what follows from one. */
  function numbers({ value, half, of, rest }, lab, words) {
    const asked = words(rest)
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
    const rights = right.map(each => {
      const [id, , , , all] = lab.steps[each[2]]
      const solved = all.filter(page => lab.pages[page][0].endsWith("/solution.html"))
      const pages = solved.length ? solved : all
      return { kind: "Right", title: shown(each, each[4]), told: "", ...placed(lab, pages, id) }
    })
    const wrongs = wrong.map(each => ({ kind: "Mistake", title: shown(each), told: each[4], ...row(each) }))
    const follows = pick(lab.follows, met).map(each => {
      const from = lab.wrong[each[3]]
      const because = `It follows from ${shown(from)}: ${from[4]}`
      return { kind: "Follows from a mistake", title: shown(each), told: because, ...row(from) }
    })
    return [...rights, ...wrongs, ...follows]
  }

  globalThis.fwSeek = { root, told, load, prepared, search, numberIn, numbers }
}
