"use strict";
// Shows what the program says, as text and never as markup; asks it for what a person away from the pit may do.

const $ = (id) => document.getElementById(id);
const QUIET = 15; // s without a word until all that is shown counts as old
const FIRST = 3; // things to do that are always in sight
const REDRAW = 2000; // ms between pictures of the trend
const state = { fresh: null, heard: 0, may: {}, pieces: [], pit: {}, notes: [], drawn: -1, shown: "", timer: 0 };
let stream = null;

function kept(name, usual) {
  try { return localStorage.getItem("tuyere." + name) || usual; } catch { return usual; }
}
function keep(name, value) {
  try { localStorage.setItem("tuyere." + name, value); } catch { /* then it holds until the page is closed */ }
}
const units = () => kept("units", "F");
const zone = () => Intl.DateTimeFormat().resolvedOptions().timeZone || "";
const query = (more) => new URLSearchParams({ units: units(), zone: zone(), ...more }).toString();

// -- making parts of the page ----------------------------------------------------------

function make(name, given, ...children) {
  const node = document.createElement(name);
  for (const [key, value] of Object.entries(given || {})) {
    if (key === "on") node.addEventListener("click", value);
    else if (key === "class") { if (value) node.className = value; }
    else if (value === true) node.setAttribute(key, "");
    else if (value !== false && value !== undefined) node.setAttribute(key, value);
  }
  for (const child of children) if (child !== null && child !== "") node.append(child);
  return node;
}
function put(id, words, tone) {
  const node = $(id);
  if (node.textContent !== (words || "")) node.textContent = words || "";
  if (tone !== undefined) node.className = tone;
}
function draft(list, entries) { // new nodes, but only where something changed: a screen reader says them again
  const open = new Set([...list.querySelectorAll("details[open]")].map((one) => one.dataset.of));
  const stops = () => [...list.querySelectorAll("button,summary")];
  const at = stops().indexOf(document.activeElement); // who uses the keyboard stays where they were
  list.replaceChildren(...entries);
  if (at >= 0 && stops().length) stops()[Math.min(at, stops().length - 1)].focus();
  for (const one of list.querySelectorAll("details")) one.open = open.has(one.dataset.of);
}
function sample(line) {
  const svg = document.createElementNS("http://www.w3.org/2000/svg", "svg");
  svg.setAttribute("class", "trend sample");
  svg.setAttribute("viewBox", "0 0 34 8");
  svg.setAttribute("width", "34");
  svg.setAttribute("height", "8");
  svg.setAttribute("aria-hidden", "true");
  if (line) {
    const path = document.createElementNS("http://www.w3.org/2000/svg", "path");
    path.setAttribute("class", "line line" + line);
    path.setAttribute("d", "M0 4H34");
    svg.append(path);
  }
  return svg;
}

const draw = {
  head(part) {
    const [first, ...rest] = part.words;
    put("stands", first, part.tone);
    const gist = first.replace(/[-\d.,:]+/g, ""); // a screen reader says it again when more than a number has changed
    if (state.gist !== gist) { state.gist = gist; put("told", first); }
    put("why", rest.join(" "));
    $("asleep").hidden = !part.asleep;
    put("asleep", part.asleep);
    document.title = (part.tone === "urgent" ? "! " : "") + first;
  },
  top(part) {
    put("cook", part.cook || "Tuyere");
    put("link", part.link);
    put("clock", part.clock);
    put("serving", part.serving, part.late ? "hand" : "");
  },
  pit(part) {
    state.pit = part;
    $("pit").hidden = !part.band;
    if (!part.band) return;
    put("reading", part.reading);
    put("band", part.band);
    put("fan", part.fan);
    put("pitmore", [part.inside, ...part.more].filter(Boolean).join(" \u00b7 "));
    const mark = $("mark");
    mark.toggleAttribute("hidden", part.at === null);
    if (part.at !== null) {
      const at = 150 + 100 * part.at;
      const shape = at < 8 ? "M14 4L2 13L14 22z" : at > 392 ? "M-14 4L-2 13L-14 22z" : "M-5 3h10v20h-10z";
      mark.setAttribute("d", shape);
      mark.setAttribute("transform", "translate(" + Math.min(400, Math.max(0, at)) + " 0)");
    }
  },
  alarms(part) {
    draft($("alarms"), part.map((alarm) => make("article", { class: "alarm " + alarm.tone },
      make("span", { class: "state" }, alarm.state), " since " + alarm.since,
      make("h3", null, alarm.what),
      alarm.why ? make("p", null, alarm.why) : null,
      make("ol", null, ...alarm.checks.map((check) => make("li", null, check))),
      alarm.see ? make("button", { type: "button", on: () => doit({ do: "seen", alarm: alarm.id }) }, "I have seen this") : null,
      alarm.trip ? make("p", { class: "muted" }, "Acknowledged at the pit, by who has looked at the fire.") : null)));
  },
  next(part) {
    state.next = part;
    const made = part.map((one) => make("li", { class: one.now ? "now" : "" },
      make("span", { class: "when" }, one.when), make("span", { class: "words" }, one.words),
      one.kind ? make("button", { type: "button", "aria-label": "Note: " + one.words,
        on: () => askNote(one.kind, one.piece) }, "done") : null));
    draft($("prompts"), made.length ? made.slice(0, FIRST) : [make("li", { class: "idle" }, state.idle || "")]);
    const rest = made.slice(FIRST), now = part.slice(FIRST).filter((one) => one.now).length;
    draft($("later"), rest.length ? [make("details", { "data-of": "later" },
      make("summary", null, rest.length + " more" + (now ? ", " + now + " due now" : "")),
      make("ol", { class: "prompts" }, ...rest))] : []);
  },
  idle(part) {
    state.idle = part;
    if (!(state.next || []).length) draw.next([]);
  },
  pieces(part) {
    state.pieces = part;
    draft($("pieces"), part.length ? part.map((one) => make("li", null,
      make("p", { class: "name" }, sample(one.line), make("b", null, one.name), make("span", { class: "deg" }, one.now)),
      make("p", { class: "state" }, [one.state, one.ready].filter(Boolean).join(" \u00b7 ")),
      one.decide ? make("p", { class: "decide" }, one.decide) : null,
      one.more.length ? make("details", { "data-of": String(one.id) }, make("summary", null, "more of " + one.name),
        ...one.more.map((words) => make("p", null, words))) : null)) : [make("li", { class: "muted" }, "none yet")]);
  },
  noted(part) {
    draft($("noted"), part.length ? part.map((one) => make("li", null,
      make("span", { class: "when" }, one.when), make("span", null, one.words),
      one.undo ? make("button", { type: "button", "aria-label": "Take back: " + one.words,
        on: () => askUndo(one) }, "take back") : null)) : [make("li", { class: "muted" }, "nothing yet")]);
  },
  may(part) {
    state.may = part;
    $("bar").hidden = part.look;
    $("awake").hidden = !part.awake;
    for (const [id, name] of [["note", "note"], ["opened", "opened"], ["lower", "band"], ["stop", "stop"]])
      $(id).disabled = !part[name];
    $("report").disabled = !part.report;
  },
};

// -- news -------------------------------------------------------------------------------

function take(news) {
  state.heard = performance.now();
  for (const name of Object.keys(draw)) if (name in news) draw[name](news[name]);
  state.fresh = news.fresh;
  if ("drawn" in news) { state.drawn = news.drawn; trend(); }
  age();
}
function span(seconds) {
  const minutes = Math.floor(seconds / 60);
  if (minutes < 1) return Math.floor(seconds) + " s";
  return minutes < 60 ? minutes + " min" : Math.floor(minutes / 60) + " h " + String(minutes % 60).padStart(2, "0") + " min";
}
function age() { // each second: how old what is shown is
  if (!state.fresh) return;
  if (state.crowded) {
    put("fresh", "Not live: too many pages are open on this device. Close some, then load this one again.", "hand");
    return;
  }
  const silent = (performance.now() - state.heard) / 1000;
  const { age: then, live } = state.fresh;
  if (silent > QUIET) {
    put("fresh", "Not live: no word for " + span(silent) + ". Looking for it again.", "hand");
    return;
  }
  if (then === null) { put("fresh", "", ""); return; }
  const old = then + silent;
  const words = old < 3 ? "under 3 s old" : span(old) + " old";
  put("fresh", (live ? (old > 6 ? "late, " : "live, ") : "not live, ") + words, live && old <= 6 ? "" : "hand");
}
function connect() {
  if (stream) stream.close();
  state.crowded = false;
  stream = new EventSource("/events?" + query());
  stream.addEventListener("message", (event) => take(JSON.parse(event.data)));
  stream.addEventListener("gone", () => { stream.close(); askPair("This device was withdrawn."); });
  stream.addEventListener("crowded", () => { stream.close(); state.crowded = true; age(); });
  stream.addEventListener("error", () => {
    if (stream.readyState === EventSource.CLOSED && !state.unpaired) setTimeout(begin, 3000);
  });
}
async function begin() { // also again, where a browser gives up
  if (state.unpaired) return;
  connect();
  try {
    const answer = await fetch("/notes?" + query());
    if (answer.status === 401) askPair("");
    else if (answer.ok) {
      state.notes = await answer.json();
      if (location.pathname === "/pair" && location.hash) askPair("This device is paired already, and can be paired again.", true);
    }
  } catch { /* the stream finds the program again, and begins again */ }
}

function trend(now) { // the picture comes from the program, as a document of its own; nothing in it can run
  if (state.timer && !now) return;
  clearTimeout(state.timer);
  const box = $("trend"), wide = Math.round(box.clientWidth);
  if (!wide) return;
  const tall = wide < 500 ? 230 : Math.round(Math.min(560, Math.max(300, Math.min(wide * 0.8, innerHeight - 240))));
  const ask = new XMLHttpRequest();
  ask.open("GET", "/trend.svg?" + query({ window: kept("window", "all"), width: wide, height: tall }));
  ask.responseType = "document";
  ask.addEventListener("load", () => {
    const svg = ask.status === 200 && ask.responseXML && ask.responseXML.documentElement;
    if (svg && svg.localName === "svg") box.replaceChildren(document.adoptNode(svg));
  });
  ask.send();
  const asked = state.drawn;
  state.timer = setTimeout(() => { state.timer = 0; if (state.drawn !== asked) trend(); }, REDRAW);
}

// -- asking -------------------------------------------------------------------------------

async function post(where, body) {
  const answer = await fetch(where + "?" + query(), {
    method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify(body) });
  const said = await answer.json().catch(() => ({ words: "No answer that can be read: try again." }));
  return { ok: answer.ok, said };
}
let hush = 0;
function say(words) {
  put("said", words);
  clearTimeout(hush);
  hush = setTimeout(() => put("said", ""), 8000);
}
async function send(wanted) { // "" if it was done, else why not
  try {
    const { ok, said } = await post("/do", { units: units(), ...wanted });
    if (ok) { say(said.words); return ""; }
    return said.words;
  } catch {
    return "No answer: the page's program or the network is gone. Nothing was done as far as is known.";
  }
}
async function doit(wanted) {
  const trouble = await send(wanted);
  if (trouble) say(trouble);
}

function ask(title, words, yes, fields, give) {
  const box = $("ask");
  put("asktitle", title);
  put("askwords", words);
  put("trouble", "");
  $("yes").textContent = yes;
  $("yes").hidden = !yes;
  $("no").hidden = Boolean(state.unpaired); // there is nothing to go back to
  $("fields").replaceChildren(...fields);
  box.querySelector("form").onsubmit = async (event) => {
    event.preventDefault();
    $("yes").disabled = true;
    const trouble = await give();
    $("yes").disabled = false;
    if (trouble) put("trouble", trouble); else box.close();
  };
  if (!box.open) box.showModal();
  const first = $("fields").querySelector("input,select,button");
  (first || $("no")).focus();
}
function field(label, name, given, hint) {
  return make("label", null, label + (hint ? " (" + hint + ")" : ""),
    make("input", { name, autocomplete: "off", ...given }));
}
function choose(label, name, choices, value) {
  const list = make("select", { name }, ...choices.map(([key, words]) => make("option", { value: key }, words)));
  if (value !== undefined) list.value = String(value);
  return make("label", null, label, list);
}
const given = (name) => { const node = $("fields").querySelector("[name=" + name + "]"); return node ? node.value : ""; };

function askNotes() {
  const kinds = make("div", { class: "kinds" }, ...state.notes.map((one) =>
    make("button", { type: "button", on: () => askNote(one.kind, 0) }, one.words)));
  ask("What was done?", "", "", [kinds], () => "");
}
function askNote(kind, piece) {
  const known = state.notes.find((one) => one.kind === kind);
  const here = state.pieces.filter((one) => one.here);
  if (known.piece && !here.length) { say("This note is about a piece, and there is none."); return; }
  const fields = [];
  if (known.label) fields.push(field(known.label, "value", { inputmode: "decimal", required: known.must }, known.hint));
  if (known.texts.length) fields.push(choose("how", "words", known.texts.map((one) => [one, one])));
  if (known.free) fields.push(field("words", "words", { maxlength: 300, required: true }));
  const pieces = here.map((one) => [String(one.id), one.name]);
  if (!known.piece) pieces.unshift(["0", "the pit, or all"]);
  if (pieces.length > 1 || known.piece) fields.push(choose("which", "piece", pieces, piece || pieces[0][0]));
  fields.push(choose("when", "ago", [["0", "now"], ["5", "5 min ago"], ["10", "10 min ago"], ["20", "20 min ago"],
    ["30", "30 min ago"], ["60", "1 h ago"], ["120", "2 h ago"]]));
  ask(known.words, "", "Note it", fields, () => send({ do: "note", kind, value: given("value"), words: given("words"),
    piece: Number(given("piece") || 0), ago: Number(given("ago")) }));
}
function askUndo(one) {
  ask("Take this note back?", one.words + ", at " + one.when, "Take it back", [],
    () => send({ do: "undo", note: one.undo }));
}
function askBand() {
  const higher = state.may.higher ? " " + state.may.higher : "";
  ask("Change the band", "The pit is held between these. It counts once the board has taken it." + higher, "Ask for it",
    [field("from", "low", { inputmode: "decimal", required: true, value: state.pit.low }, units()),
      field("to", "high", { inputmode: "decimal", required: true, value: state.pit.high }, units())],
    () => send({ do: "band", low: given("low"), high: given("high") }));
}
function askStop() {
  ask("Stop the pit?", "The fan goes off and the fire dies down. From here it cannot be started again: that needs a person at the pit.",
    "Fan off", [], () => send({ do: "stop" }));
}
function askPair(why, already) {
  if (state.unpaired) return; // it is asked already: what was typed stays
  state.unpaired = !already;
  if (stream && !already) stream.close();
  const code = location.hash.slice(1);
  history.replaceState(null, "", "/");
  const name = /Android|iPhone|iPad|Mobile/.test(navigator.userAgent) ? "phone" : "computer";
  if (!already) { // what was shown before is no longer for this device
    state.fresh = null;
    for (const id of ["why", "fresh", "told", "asleep"]) put(id, "");
    put("stands", "This device is not paired.", "");
    document.title = "Tuyere";
    document.body.className = "unpaired";
  }
  ask("Pair this device", (why + " Type the code that `tuyere web pair` shows on the computer at the pit; it works once.").trim(),
    "Pair", [field("code", "code", { required: true, value: code, autocapitalize: "characters" }),
      field("name of this device", "name", { maxlength: 40, value: name })],
    async () => {
      try {
        const { ok, said } = await post("/pair", { code: given("code"), name: given("name") });
        if (!ok) return said.words;
        state.unpaired = false;
        document.body.className = "";
        say(said.look ? "Paired: this device may look." : "Paired.");
        begin();
        return "";
      } catch {
        return "No answer: look at the network, then try again.";
      }
    });
}

async function saveReport() {
  say("The report is being made.");
  $("report").disabled = true;
  try {
    const answer = await fetch("/report?" + query());
    if (!answer.ok) { say((await answer.json()).words); return; }
    const name = /filename="([^"]+)"/.exec(answer.headers.get("content-disposition") || "");
    const file = URL.createObjectURL(await answer.blob());
    make("a", { href: file, download: name ? name[1] : "cook.html" }).click();
    setTimeout(() => URL.revokeObjectURL(file), 60000);
    say("The report is saved on this device.");
  } catch {
    say("No answer: the page's program or the network is gone.");
  } finally {
    $("report").disabled = !state.may.report;
  }
}

// -- this page itself ----------------------------------------------------------------------

function dress() {
  const light = kept("look", "dark") === "light";
  document.documentElement.dataset.look = light ? "light" : "dark";
  $("look").textContent = light ? "for the night" : "for bright sun";
  $("units").textContent = units() === "F" ? "degrees C" : "degrees F";
  for (const one of document.querySelectorAll("[data-window]"))
    one.setAttribute("aria-pressed", String(one.dataset.window === kept("window", "all")));
}
function on(id, act) { $(id).addEventListener("click", act); }
on("awake", () => doit({ do: "awake" }));
on("note", askNotes);
on("opened", () => doit({ do: "opened" }));
on("lower", askBand);
on("stop", askStop);
on("no", () => $("ask").close());
on("report", saveReport);
$("ask").addEventListener("cancel", (event) => { if (state.unpaired) event.preventDefault(); });
on("units", () => { keep("units", units() === "F" ? "C" : "F"); dress(); begin(); });
on("look", () => { keep("look", kept("look", "dark") === "light" ? "dark" : "light"); dress(); });
for (const one of document.querySelectorAll("[data-window]"))
  one.addEventListener("click", () => { keep("window", one.dataset.window); dress(); trend(true); });
document.addEventListener("visibilitychange", () => { // a phone wakes up
  if (document.visibilityState === "visible" && performance.now() - state.heard > 10000 && stream) connect();
});
let resized = 0;
addEventListener("resize", () => { clearTimeout(resized); resized = setTimeout(() => trend(true), 200); });
setInterval(age, 1000);
dress();
begin();
