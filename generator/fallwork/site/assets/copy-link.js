/* A click on a heading's link copies its whole address, and offers it as Markdown; so does a button after an address
   that is there to be sent, or one that another script keeps up to date (data-send). Staff get the students'
   address, as far as it is known, and are told if the page isn't open yet. Where nothing may be copied it is shown. Without this script the link is a plain link. */
{
  const made = (name, about) => Object.assign(document.createElement(name), about)
  const said = made("p", { className: "fw-copied" })
  const words = made("span")
  const button = made("button", { type: "button", textContent: "Copy as Markdown" })
  words.setAttribute("role", "status")
  said.append(words, button)

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
      const field = made("textarea", { value: text })
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
    // Emptied first and filled later, so that the same words are read out a second time.
    setTimeout(() => { words.textContent = copied ? done : `Copy this: ${text}` }, 50)
  }

  function about(target, held) {
    const whole = target.startsWith("file:") ? " It leads to a file on this device."
      : /^[a-z]+:/.test(target) ? "" : " Put the address of the students’ site before it."
    return whole + (held ? ` Students can’t open it before ${held}.` : "")
  }

  async function offer(control, words, target, held) {
    if (control.nextElementSibling !== said) control.after(said)
    button.onclick = async () => {
      await take(markdown(words, target), `Copied as Markdown.${about(target, held)}`)
      button.focus()
    }
    await take(target, `Link copied.${about(target, held)}`)
  }

  globalThis.fwOffer = offer  // for what is found

  for (const link of document.querySelectorAll("a.fw-link")) {
    link.setAttribute("aria-label", `Copy link to: ${title(link)}`)
    link.addEventListener("click", () => {
      offer(link, title(link), address(link), noted("fw-held-until"))
    })
  }

  for (const code of document.querySelectorAll("code.fw-send")) {
    const control = made("button", { type: "button", className: "fw-copy", textContent: "Copy" })
    control.setAttribute("aria-label", `Copy ${code.textContent}`)
    control.onclick = () => offer(control, code.dataset.title, code.textContent, code.dataset.held)
    code.after(" ", control)
  }

  document.addEventListener("click", event => {
    const control = event.target.closest("button[data-send]")
    if (control) offer(control, control.dataset.title, page() + control.dataset.send, noted("fw-held-until"))
  })
}
