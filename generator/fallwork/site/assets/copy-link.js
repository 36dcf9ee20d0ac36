/* A click on a heading's link copies its whole address, and offers it as Markdown. Where nothing
   may be copied the address is shown instead. Without this script the link is a plain link. */
{
  const said = document.createElement("p")
  const words = document.createElement("span")
  const button = document.createElement("button")
  said.className = "fw-copied"
  words.setAttribute("role", "status")
  button.type = "button"
  button.textContent = "Copy as Markdown"
  said.append(words, button)

  const canonical = document.querySelector("link[rel=canonical]")
  const page = () => (canonical ? canonical.href : location.href).split("#")[0]
  const title = link => link.getAttribute("aria-label").replace(/^[^:]*: /, "")
  const markdown = link => `[${title(link).replace(/[\\[\]*_`<]/g, "\\$&")}](${address(link)})`
  const address = link => page() + link.getAttribute("href")

  async function copy(text) {
    try {
      await navigator.clipboard.writeText(text)
      return true
    } catch {
      const field = document.createElement("textarea")
      field.value = text
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

  for (const link of document.querySelectorAll("a.fw-link")) {
    link.setAttribute("aria-label", `Copy link to: ${title(link)}`)
    link.addEventListener("click", async () => {
      if (link.nextElementSibling !== said) link.after(said)
      button.onclick = async () => {
        await take(markdown(link), "Copied as Markdown.")
        button.focus()
      }
      await take(address(link), "Link copied.")
    })
  }
}
