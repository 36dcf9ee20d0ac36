/* What other scripts make pages of, and the data of the page. */

/** An element with what it holds and what it is; a role and names with a dash are attributes. */
function element(tag, content = [], about = {}) {
  const made = document.createElement(tag)
  for (const [name, given] of Object.entries(about)) {
    if (/-|^role$/.test(name)) made.setAttribute(name, given)
    else made[name] = given
  }
  made.append(...[content].flat())
  return made
}

/** A place for what changes, short enough to be read out. */
const status = (tag = "span") => element(tag, [], { role: "status" })
const button = (said, act, about = {}) => element("button", said, { type: "button", onclick: act, ...about })
const filled = (sentence, names) => sentence.replace(/{(\w+)}/g, (_, name) => names[name])
const data = JSON.parse(document.getElementById("fw-data")?.textContent ?? "{}")
window.fallwork = { element, status, button, filled, data }
