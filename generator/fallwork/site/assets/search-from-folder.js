/* The theme searches in a worker. Browsers refuse workers to pages that are read from a folder,
   so there a hidden frame of the same page stands in for it: same messages, same script. */
if (location.protocol === "file:") {
  window.Worker = class extends EventTarget {
    #waiting = []
    #frame = document.createElement("iframe")

    constructor(script) {
      super()
      this.#frame.hidden = true
      this.#frame.title = "Search"
      this.#frame.srcdoc = "<!doctype html><html lang='en'><title>Search</title>"
      this.#frame.addEventListener("load", () => this.#start(script), { once: true })
      document.body.append(this.#frame)
    }

    #start(script) {
      const inside = this.#frame.contentWindow
      inside.postMessage = data => this.dispatchEvent(new MessageEvent("message", { data }))
      const element = inside.document.createElement("script")
      element.addEventListener("load", () => {
        const waiting = this.#waiting
        this.#waiting = null
        waiting.forEach(data => this.postMessage(data))
      })
      element.src = script
      inside.document.body.append(element)
    }

    postMessage(data) {
      if (this.#waiting) this.#waiting.push(data)
      else this.#frame.contentWindow.dispatchEvent(new MessageEvent("message", { data }))
    }
  }
}
