"use strict";
// Asks more than once a second, counts on by itself from the instants it was given, and says when it hears nothing.
const POLL_MS = 750, GIVE_UP_MS = 4000, DRAW_MS = 250;
const UNHEARD_MS = 9500; // with the next drawing, said before ten seconds are over
const SLEPT_MS = 1500; // the two clocks of the browser further apart than this: it slept, or its clock was set
const AGAIN_MS = 10000; // how often the page sounds while it hears nothing

const byId = (id) => document.getElementById(id);
let latest = null; // the latest answer
let anchor = 0; // performance.now() at which latest.now_ms was true
let heardAt = performance.now(); // when the bench itself was last heard of
let why = "";
let ended = false;
let heard = null; // sounds and prompts there have been
let audio = null, awake = null, soundedLostAt = -Infinity;
let lastTick = performance.now(), lastDate = Date.now();

function serverNow() { return latest.now_ms + (performance.now() - anchor); }

// As the bench tells it: whole minutes rounded down, seconds in the last minute; a colon would be a time of day.
function figure(ms) {
  const s = Math.floor(Math.abs(ms) / 1000 + 1e-6), min = Math.floor(s / 60);
  if (ms > 0 && s < 60) return [s, "s"];
  if (min < 600) return [min, "min"];
  return min < 6000 ? [Math.floor(min / 60), "h"] : [Math.floor(min / 1440), "d"];
}
// Minutes and seconds: a clock that counts is seen to count.
function counted(ms) {
  const s = Math.floor(Math.abs(ms) / 1000 + 1e-6), min = Math.floor(s / 60);
  if (min >= 60) return Math.floor(min / 60) + " h " + String(min % 60).padStart(2, "0");
  return (min ? min + " min " + String(s % 60).padStart(2, "0") : s) + " s";
}

function make(kind, name, text) {
  const made = document.createElement(kind);
  if (name) made.className = name;
  made.textContent = text; // never markup: names come from people
  return made;
}
function put(place, made) { place.replaceChildren(...made); }

function timeOf(thing, now) {
  if (thing.due_ms !== null) return { ms: thing.due_ms - now, sense: thing.due_ms > now ? thing.to_come : thing.harms ? "over" : "ready" };
  if (thing.since_ms !== null) return { ms: thing.since_ms - now, sense: "so far" };
  return null;
}
function lineOf(thing, now) {
  const time = timeOf(thing, now), sign = thing.urgency === 2 ? "! " : thing.urgency === 1 ? "• " : "";
  const where = thing.unit ? ", " + thing.unit : "";
  return sign + (thing.about ? thing.about + " " : "") + thing.word + where +
    (time ? " · " + (time.sense === "ready" ? ["ready", ...figure(time.ms), "ago"] :
      [...figure(time.ms), time.sense]).join(" ") : "");
}

function draw() {
  const tick = performance.now(), date = Date.now();
  // A monotonic clock may stand still while the device sleeps: then nothing it counted is true.
  if (Math.abs((date - lastDate) - (tick - lastTick)) > SLEPT_MS) heardAt = -Infinity;
  lastTick = tick;
  lastDate = date;
  const silent = tick - heardAt, lost = silent >= UNHEARD_MS && !ended;
  document.body.classList.toggle("lost", lost || ended); // what a page that has ended shows is old too
  byId("lost").hidden = !lost;
  if (lost) {
    byId("lost-for").textContent = Number.isFinite(silent) ?
      "Nothing heard for " + counted(silent) + "." : "This device slept; nothing heard since.";
    byId("lost-why").textContent = why;
    if (tick - soundedLostAt >= AGAIN_MS) { soundedLostAt = tick; sound("lost"); }
  } else soundedLostAt = -Infinity;
  if (latest === null) return;
  const now = serverNow(), here = new Date(now + latest.utc_offset_min * 60000);
  byId("time").textContent = here.toISOString().slice(11, 16);
  byId("finish").textContent = latest.finish ? "finish " + latest.finish : "";
  byId("unsaved").hidden = !latest.unsaved;
  put(byId("alarms"), latest.alarms.map((alarm) => make("p", alarm.silenced ? "alarm silenced" : "alarm",
    "! " + alarm.about + ": " + alarm.what + " · alarm, " + counted(now - alarm.since_ms) + " so far" +
    (alarm.silenced ? " (silenced)" : ""))));
  drawNext(now);
  put(byId("after"), latest.next.slice(1).map((thing) => make("p", "", lineOf(thing, now))));
  put(byId("clocks"), latest.clocks.map((clock) => {
    const left = clock.due_ms - now, row = document.createElement("tr"), name = make("td", "", "");
    name.append(make("strong", "", clock.about + " "), clock.colourway + " ",
      make("span", "what", clock.what + (clock.unit ? ", " + clock.unit : "")));
    const time = make("td", left <= 0 && clock.harms ? "harm" : left <= 0 ? "over" : "", ""), length = make("span", "length", counted(left));
    time.append(...(left > 0 ? [length, clock.what === "wait" ? " safe" : " left"] : clock.harms ? [length, " over"] : ["ready ", length, " ago"]));
    time.dataset.clock = clock.about + "/" + clock.what;
    row.append(name, time);
    return row;
  }));
}

function drawNext(now) {
  const first = latest.next[0];
  if (!first) { put(byId("next"), [make("p", "word", "nothing to do now")]); return; }
  const time = timeOf(first, now), made = [];
  if (first.about) made.push(make("div", "about", (first.urgency === 2 ? "! " : "") + first.about));
  made.push(make("div", "word", first.word));
  if (first.unit || first.colourway)
    made.push(make("div", "where", [first.unit, first.colourway].filter(Boolean).join(" · ")));
  if (time) {
    const row = make("div", "", ""), [digits, unit] = figure(time.ms);
    row.append(make("span", "digits", digits), make("span", "sense", unit + " " + time.sense));
    made.push(row);
  }
  byId("next").className = first.urgency === 2 || (time && time.sense === "over") ? "harm" : time && time.sense === "ready" ? "over" : "";
  put(byId("next"), made);
}

async function ask() {
  const sent = performance.now(), stop = new AbortController();
  const timer = setTimeout(() => stop.abort(), GIVE_UP_MS);
  try {
    const answer = await fetch("now", {
      cache: "no-store", credentials: "omit", referrerPolicy: "no-referrer", redirect: "error", signal: stop.signal,
    });
    if (answer.ok) take(await answer.json(), sent);
    else if (answer.status === 404) why = "This address no longer opens: scan the new code at the bench.";
    else why = answer.status === 503 ? "The bench refuses: too many are watching, or it has only just begun." : "";
  } catch (_error) {
    why = "The bench is off, or this device is not on its network.";
  } finally {
    clearTimeout(timer);
    draw();
    setTimeout(ask, Math.max(0, POLL_MS - (performance.now() - sent)));
  }
}

function take(fresh, sent) {
  ended = fresh.ended !== "";
  if (ended) {
    byId("ended").textContent = "This page has ended: " + fresh.ended;
  }
  byId("ended").hidden = !ended;
  if (!fresh.next) return;
  latest = fresh;
  const received = performance.now();
  anchor = (sent + received) / 2;
  // The server may answer for a bench that stands still: its age counts as silence too.
  heardAt = anchor - fresh.age_s * 1000;
  why = fresh.age_s > 5 ? "The page is served, but the bench behind it does not answer." : "";
  const first = heard === null;
  const alarms = fresh.sounding.filter((id) => first || !heard.has(id));
  const prompts = first ? [] : fresh.due.filter((id) => !heard.has(id));
  heard = new Set([...(heard || []), ...fresh.sounding, ...fresh.due]);
  if (alarms.length) sound("alarm");
  else if (prompts.length) sound("prompt");
}

const TUNES = { // [hertz, seconds] in turn; 0 Hz is a rest
  prompt: [[660, 0.25]],
  alarm: [[880, 0.3], [0, 0.1], [880, 0.3], [0, 0.1], [880, 0.3]],
  lost: [[988, 0.25], [494, 0.25], [988, 0.25], [494, 0.25], [988, 0.25], [494, 0.25]],
};
function sound(name) {
  const tune = TUNES[name];
  if (navigator.vibrate && audio !== null) navigator.vibrate(tune.map(([, s]) => Math.round(s * 1000)));
  if (audio === null) return;
  if (audio.state !== "running") audio.resume();
  let at = audio.currentTime + 0.02;
  for (const [hertz, seconds] of tune) {
    if (hertz) {
      const tone = audio.createOscillator(), loud = audio.createGain();
      tone.type = "square";
      tone.frequency.value = hertz;
      loud.gain.value = 0.4;
      tone.connect(loud).connect(audio.destination);
      tone.start(at);
      tone.stop(at + seconds);
    }
    at += seconds;
  }
}

async function keepAwake() {
  const words = byId("awake");
  try {
    awake = await navigator.wakeLock.request("screen");
    words.textContent = "The screen is kept awake while this page is in front. A locked phone stays silent.";
  } catch (_error) { // a page without a certificate may not: then there is no wakeLock at all
    words.textContent = "This browser does not let the page keep the screen awake: set the screen to stay on. " +
      "A locked phone stays silent.";
  }
}
byId("tap").addEventListener("click", () => {
  audio = audio || new AudioContext();
  audio.resume();
  const alarmed = latest !== null && latest.alarms.some((alarm) => !alarm.silenced);
  sound(document.body.classList.contains("lost") && !ended ? "lost" : alarmed ? "alarm" : "prompt");
  byId("tap").textContent = "Sound is on: tap to hear it again";
  byId("tap").className = "done";
  keepAwake();
});
document.addEventListener("visibilitychange", () => {
  draw();
  if (document.visibilityState === "visible" && audio !== null) keepAwake();
});
addEventListener("pageshow", draw);
document.addEventListener("resume", draw);
setInterval(draw, DRAW_MS);
ask();
