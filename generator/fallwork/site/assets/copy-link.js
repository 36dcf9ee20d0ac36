/* A click on a heading's link copies its whole address, and offers it as Markdown; so does a button after an address
   that is there to be sent, or one that another script keeps up to date (data-send). Staff get the students' address
   and are told if the page isn't open yet. Where nothing may be copied it is shown. */

const { element, status, button } = fallwork
const words = status()
const also = button("Copy as Markdown")
const said = element("p", [words, also], { className: "fw-copied" })

const noted = name => document.querySelector(`meta[name=${name}]`)?.content
const staff = document.querySelector(".fw-staff") !== null
const canonical = staff ? null : document.querySelector("link[rel=canonical]")
const page = () => noted("fw-address") ?? (canonical ?? location).href.split(/[?#]/)[0]
const title = link => link.getAttribute("aria-label").replace(/^[^:]*: /, "")
const address = link => page() + link.getAttribute("href")
const markdown = (words, target) => `[${words.replace(/[\\[\]*_`<]/g, "\\$&")}](${target})`

async function copy(text) {
  try {
    await navigator.clipboard.writeText(text)
    return true
  } catch {
    const field = element("textarea", text)
    document.body.append(field)
    field.select()
    const done = document.execCommand("copy")
    field.remove()
    return done
  }
}

async function take(text, done) {
  const copied = await copy(text)
  words.textContent = ""
  // later, so that the same words are read out a second time
  setTimeout(() => { words.textContent = copied ? done : `Copy this: ${text}` }, 50)
}

function about(target, held) {
  const whole = target.startsWith("file:") ? " It leads to a file on this device."
    : /^[a-z]+:/.test(target) ? "" : " Put the address of the students’ site before it."
  return whole + (held ? ` Students can’t open it before ${held}.` : "")
}

async function offer(control, words, target, held) {
  if (control.nextElementSibling !== said) control.after(said)
  also.onclick = async () => {
    await take(markdown(words, target), `Copied as Markdown.${about(target, held)}`)
    also.focus()
  }
  await take(target, `Link copied.${about(target, held)}`)
}

fallwork.offer = offer  // for what is found

for (const link of document.querySelectorAll("a.fw-link")) {
  link.setAttribute("aria-label", `Copy link to: ${title(link)}`)
  link.addEventListener("click", () => {
    offer(link, title(link), address(link), noted("fw-held-until"))
  })
}

for (const code of document.querySelectorAll("code.fw-send")) {
  const act = () => offer(control, code.dataset.title, code.textContent, code.dataset.held)
  const control = button("Copy", act, { className: "fw-copy", "aria-label": `Copy ${code.textContent}` })
  code.after(" ", control)
}

document.addEventListener("click", event => {
  const control = event.target.closest("button[data-send]")
  if (control) offer(control, control.dataset.title, page() + control.dataset.send, noted("fw-held-until"))
})
