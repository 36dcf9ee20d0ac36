/* What the site’s own scripts hand on to one another. Data comes with pages, as plain JSON. */

type Tags = HTMLElementTagNameMap
type Data = Record<string, any>
type Numbers = Record<string, number>
type Content = Node | string | (Node | string)[]
type Tree = number | string | [string, ...Tree[]]
type Decimal = { minus: boolean, digits: string, exponent: number }
type Print = { mantissa: string, exponent?: number, marked?: boolean }
type Typed = { decimal: Decimal, unit: string, raised: boolean }
type Measured = { value: number, half: number }
type Entered = Typed & Measured
type State = { values: Numbers, results: number[] }
type Field = {
  input: HTMLInputElement, wrong: HTMLElement, read(unit: string): Entered | null | undefined,
}
type Put = {
  lab: State, now: State, typed: Record<string, Entered>, why?: string[], told?: string,
  givens?: Numbers, before?: State, brought?: Numbers,
}
type Form = {
  parts: HTMLElement[], fields: (Field & { id: string, label: string })[],
  read(): Put, fill(typed?: Record<string, string>): void, empty(): boolean,
}
type About<Made> = Partial<Made> & { role?: string, [attribute: `${string}-${string}`]: string }

interface Elements {
  element<Tag extends keyof Tags>(
    tag: Tag, content?: Content, about?: About<Tags[Tag]>): Tags[Tag]
  status(tag?: "span" | "p"): HTMLElement
  button(said: string, act?: () => unknown, about?: About<HTMLButtonElement>): HTMLButtonElement
  filled(sentence: string, names: Record<string, string | number>): string
  data: Data
}

interface Trees {
  summed(decimals: Decimal[]): Decimal | null
  value(tree: Tree, values: Numbers): number
  symbols(tree: Tree): string[]
  rounded(number: number, figures: number): Print
  guarded(number: number, figures: number): Print
  read(typed: string): Typed | null
  shifted(decimal: Decimal, places: number): Decimal
  half(decimal: Decimal): number
  valueOf(decimal: Decimal): number
  asTyped(given: { decimal: Decimal, raised?: boolean }): Print
}

interface Own {
  entered(typed: string, unit: string): Entered | null
  scaleOf(unit: string): number
  inSI(values: Record<string, [number, string, ...unknown[]]>): Numbers
  workedOut(working: Data, givens: Numbers, earlier?: Numbers, before?: State): State
  putIn(working: Data, typed: Record<string, Entered>, earlier?: Record<string, Entered>): Put
  remembered(name: string): Record<string, string>
  keep(name: string, fields: { id: string, input: HTMLInputElement }[]): void
  field(id: string, name: string, typed?: string): Field
  form(working: Data, legend: string, act: () => void, before?: Record<string, string>): Form
}

interface Fallwork extends Elements, Trees, Own {
  offer(control: HTMLElement, words: string, target: string, held?: string): Promise<void>
  fits(left: Tree, right: Tree, numbers: Record<string, Measured>): boolean | null
  printOf(working: Data, state: State, mark: number, typed: Record<string, Entered>): Print
}

type Entry = {
  step: string, title: string, told: string, address: string, where: string, held: string,
  kind?: string, lab?: string,
}
type Known = {
  words(text: string): string[], entries: Entry[], counts: Map<string, number>,
  rare(word: string, count?: number): number, either: Map<string, string[]>,
}
type Asked = Measured & { of: string, fine: boolean, written: string, rest: string }
type Placed = { address: string, where: string, held: string, lab: string }

type Seek = {
  root: URL, told: Data, load(name: string): Promise<Data>,
  placed(lab: Data, pages: number[], part: string): Placed,
  prepared(course: Data, labs: Data[]): Known, search(typed: string, known: Known): Entry[],
}
type Answer = Placed & { kind: string, title: string, told: string }
type BenchNumbers = {
  numberIn(typed: string, course: Data): Asked | null,
  numbers(number: Asked, lab: Data, read: Known["words"], own?: Put): Answer[],
}
declare const fallwork: Fallwork
declare const fwSeek: Seek
declare const fwNumbers: BenchNumbers
interface Window {
  get fallwork(): Fallwork
  set fallwork(first: Elements)  // elements.js; the others put their own things into it
  fwSeek: Seek
  fwNumbers: BenchNumbers
  fwSearch: Data
}

/* A selector that ends in a tag, perhaps with a class or an attribute, gives its elements. */
type Alone<Tag extends string> = `${Tag}${"." | "["}${string}`
type Within<Tag extends string> = `${string} ${Tag}${"." | "["}${string}`
type Last<Tag extends string> = `${string} ${Tag}`
interface ParentNode {
  querySelector<Tag extends keyof Tags>(selectors: Last<Tag>): Tags[Tag] | null
  querySelector<Tag extends keyof Tags>(selectors: Within<Tag>): Tags[Tag] | null
  querySelector<Tag extends keyof Tags>(selectors: Alone<Tag>): Tags[Tag] | null
  querySelector(selectors: `path${string}`): SVGPathElement | null
  querySelectorAll<Tag extends keyof Tags>(selectors: Last<Tag>): NodeListOf<Tags[Tag]>
  querySelectorAll<Tag extends keyof Tags>(selectors: Within<Tag>): NodeListOf<Tags[Tag]>
  querySelectorAll<Tag extends keyof Tags>(selectors: Alone<Tag>): NodeListOf<Tags[Tag]>
  querySelectorAll(selectors: `path${string}`): NodeListOf<SVGPathElement>
}
interface Element {
  closest<Tag extends keyof Tags>(selectors: `${Tag}:${string}`): Tags[Tag] | null
  closest<Tag extends keyof Tags>(selectors: Alone<Tag>): Tags[Tag] | null
  closest(selectors: `[data-${string}`): HTMLElement | SVGElement | null
}

/* What is clicked is an element. */
interface MouseEvent { readonly target: Element }
