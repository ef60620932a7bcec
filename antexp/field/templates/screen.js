/* What both pages share: drawing, panels, keeping, export and import. All text goes in as text, never as markup. */
var day = JSON.parse(document.getElementById("day").textContent);
var keeper = new Keeper(day.fingerprint.slice(0, 24) + "." + day.end);
var app = { book: { rows: [], undone: [] }, receiver: "", begun: {}, exported: true };
var end = {};  /* filled in by the page: isDone, drawWork, choices, tell, checkRow */

function byId(id) { return document.getElementById(id); }

function element(tag, text, attributes) {
  var made = document.createElement(tag);
  if (text !== undefined && text !== "") made.textContent = text;
  Object.keys(attributes || {}).forEach(function (name) { made.setAttribute(name, attributes[name]); });
  return made;
}

function say(text) { byId("said").textContent = text; }

function alarm(text) { byId("alarm").textContent = text; byId("alarm").hidden = !text; }

function now() { return Date.now(); }

function swapOf(number) {
  return day.swaps.filter(function (swap) { return String(swap.swap) === String(number); })[0];
}

function currentSwap() {
  return day.swaps.filter(function (swap) { return !end.isDone(app.book.rows, swap.swap); })[0] || null;
}

/* The swap that a noise reading or a remark belongs to when all are done. */
function presentSwap() { return currentSwap() || day.swaps[day.swaps.length - 1]; }

function touched(swap) { return app.book.rows.some(function (row) { return row.swap === String(swap.swap); }); }

/* Swaps that may be done again or corrected: those of the present block; between blocks those of the one before. */
function recentSwaps() {
  var present = presentSwap(), place = day.swaps.indexOf(present), block = present.block;
  if (!day.swaps.some(function (swap) { return swap.block === block && touched(swap); }) && place > 0)
    block = day.swaps[place - 1].block;
  return day.swaps.filter(function (swap) { return swap.block === block && touched(swap); });
}

function baseRow(swap, what, time) {
  var row = {};
  day.columns.forEach(function (name) { row[name] = ""; });
  row.swap = String(swap.swap);
  row.block = swap.block;
  row.word = swap.word;
  row.time = isoTime(time === undefined ? now() : time);
  row.what = what;
  return row;
}

function store() {
  var other;
  app.exported = false;
  other = keeper.save({ book: app.book, receiver: app.receiver }, function (kept) {
    alarm(kept ? "" : "This browser keeps nothing when the page is closed. Export after every swap, and write on paper too.");
    byId("kept").textContent = kept ? "Kept on this device at " + clockTime(now()) + "." : "";
  });
  if (other) {
    adopt(other);
    alarm("This page is open twice, and the other one wrote last: its record was taken. Your last step was not taken; do it again in one of them only, and close the other.");
  }
}

function adopt(state) {
  app.book = state.book;
  app.receiver = state.receiver || "";
  keeper.number = state.number;
}

function act(added, leavesOut, message) {
  app.book = withEntry(app.book, added, leavesOut);
  closePanel();
  store();
  draw();
  say(message);
}

function pace(block) {
  var own = day.swaps.filter(function (swap) { return swap.block === block; }), times = [];
  own.forEach(function (swap) {
    var first = app.book.rows.filter(function (row) {
      return row.swap === String(swap.swap) && row.left_out_by === "" && (row.what === "reading" || row.what === "up");
    })[0];
    if (first) times.push(Date.parse(first.time));
  });
  times.sort(function (a, b) { return a - b; });
  if (times.length >= 3) return (times[times.length - 1] - times[0]) / (times.length - 1) / 60000;
  if (day.minutes_per_swap) return day.minutes_per_swap;
  return own.length > 1 ? own[1].minutes - own[0].minutes : null;
}

function drawProgress(current) {
  var rows = app.book.rows, left, minutes, each, later;
  var done = day.swaps.filter(function (swap) { return end.isDone(rows, swap.swap); }).length;
  byId("progress").max = day.swaps.length;
  byId("progress").value = done;
  byId("where").textContent = done + " of " + day.swaps.length + " swaps done" +
    (current ? ", block " + current.block : "");
  if (!current) { byId("finish").textContent = ""; return; }
  left = day.swaps.filter(function (swap) { return swap.block === current.block && !end.isDone(rows, swap.swap); }).length;
  later = day.swaps.filter(function (swap) { return swap.block !== current.block && !end.isDone(rows, swap.swap); }).length;
  each = pace(current.block);
  minutes = each === null ? null : left * each;
  byId("finish").textContent = "Left in this block: " + left + (left === 1 ? " swap" : " swaps") +
    (minutes === null ? "" : ", until about " + clockTime(now() + minutes * 60000)) +
    (later ? ". After it: " + later + " swaps" + (each === null ? "" : ", about " + hours(later * each)) + " and the breaks." : ".");
}

function hours(minutes) {
  var whole = Math.round(minutes);
  return (whole >= 60 ? Math.floor(whole / 60) + " h " : "") + (whole % 60) + " min";
}

function draw() {
  var current = currentSwap();
  var begun = current && (app.begun[current.block] || app.book.rows.some(function (row) {
    return row.block === current.block && row.left_out_by === "" && row.what !== "noise" && row.what !== "clock";
  }));
  drawProgress(current);
  byId("between").hidden = Boolean(begun);
  byId("work").hidden = !begun || Boolean(byId("panel-place").firstChild);
  byId("begin").hidden = !current;
  byId("between-title").textContent = current ? "Block " + current.block + " is next" : "All swaps are done";
  byId("between-text").textContent = current ? end.beforeBlock :
    "Export now, and copy the file to a second device before you pack up.";
  if (current && begun) end.drawWork(current);
  drawChoices(current);
  drawStory();
}

function drawChoices(current) {
  var place = byId("choices"), focused = document.activeElement && document.activeElement.textContent;
  place.textContent = "";
  [
    ["Undo", stepBack, app.book.rows.length > 0, "u"],
    ["Bring back what was undone", stepForward, app.book.undone.length > 0, ""]
  ].concat(end.choices(current), [
    ["Remark", remark, true, "m"],
    ["Compare clocks", compareClocks, true, ""],
    ["Export", exportFile, true, "e"],
    ["Show the file as text", showText, true, ""],
    ["Import", importFile, true, ""]
  ]).forEach(function (choice) {
    var button = element("button", choice[0], { type: "button" });
    if (choice[3]) button.setAttribute("accesskey", choice[3]);
    button.disabled = !choice[2];
    button.addEventListener("click", choice[1]);
    place.appendChild(button);
    if (choice[0] === focused && choice[2]) button.focus();
  });
}

function drawStory() {
  var list = byId("story");
  list.textContent = "";
  app.book.rows.slice().reverse().forEach(function (row) {
    var text = "swap " + row.swap + " " + row.word + ", " + row.time.slice(11, 19) + ": " + end.tell(row) +
      (row.note ? " (" + row.note + ")" : "") + (row.left_out_by ? ", left out" : "");
    list.appendChild(element("li", text));
  });
}

function stepBack() {
  var last = lastEntry(app.book.rows);
  var gone = app.book.rows.filter(function (row) { return Number(row.entry) === last; });
  app.book = undo(app.book);
  closePanel(); store(); draw();
  say("Undone: swap " + gone[0].swap + ", " + end.tell(gone[0]) + ".");
}

function stepForward() {
  app.book = bringBack(app.book);
  closePanel(); store(); draw();
  say("Brought back.");
}

function start() {
  byId("begin").addEventListener("click", function () {
    app.begun[currentSwap().block] = true;
    say("");
    draw();
    if (end.focus) end.focus();
  });
  window.addEventListener("beforeunload", function (event) {
    if (!keeper.local && !keeper.indexed && !app.exported) { event.preventDefault(); event.returnValue = ""; }
  });
  if (navigator.storage && navigator.storage.persist) navigator.storage.persist().catch(function () { return false; });
  keeper.open(function (state) {
    if (state) { adopt(state); app.exported = false; }
    draw();
    document.body.setAttribute("data-ready", "yes");
    if (state && state.book.rows.length) say("The record of this device is here: " + state.book.rows.length + " rows.");
  });
}
