// How far what stands there moved by itself while the page came up, as browsers measure it.
() => new Promise(done => new PerformanceObserver(list => done(
  list.getEntries().reduce((sum, each) => sum + each.value, 0)
)).observe({type: "layout-shift", buffered: true}) ?? setTimeout(() => done(0), 300))
