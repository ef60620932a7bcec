/* Panels: questions with a field or two, one at a time; Escape and Back leave them. */
function closePanel() {
  byId("panel-place").textContent = "";
}

function leavePanel() { closePanel(); draw(); if (end.focus) end.focus(); }

function buildField(spec) {
  var box = element("div"), input, label;
  if (spec.kind === "select") {
    input = element("select");
    spec.options.forEach(function (option) { input.appendChild(element("option", option[1], { value: option[0] })); });
  } else if (spec.kind === "area") input = element("textarea");
  else input = element("input", "", { type: spec.kind || "text", autocomplete: "off" });
  input.id = "panel-" + spec.name;
  if (spec.mode) input.setAttribute("inputmode", spec.mode);
  if (spec.value !== undefined) input.value = spec.value;
  if (spec.readonly) input.readOnly = true;
  if (spec.longest) input.maxLength = spec.longest;
  label = element("label", spec.label, { "for": input.id });
  box.appendChild(label);
  box.appendChild(input);
  return box;
}

function openPanel(spec) {
  var place = byId("panel-place"), form, wrong, first;
  place.textContent = "";
  form = element("form", "", { "class": "panel", "aria-labelledby": "panel-title", autocomplete: "off" });
  form.appendChild(element("h2", spec.title, { id: "panel-title", tabindex: "-1" }));
  (spec.text || []).forEach(function (line) { form.appendChild(element("p", line)); });
  (spec.fields || []).forEach(function (field) { form.appendChild(buildField(field)); });
  wrong = element("p", "", { "class": "wrong", role: "alert" });
  wrong.hidden = true;
  form.appendChild(wrong);
  function values() {
    var found = {};
    (spec.fields || []).forEach(function (field) { found[field.name] = byId("panel-" + field.name).value; });
    return found;
  }
  function run(action) {
    var trouble = action.run(values());
    if (trouble) { wrong.textContent = trouble; wrong.hidden = false; }
  }
  spec.actions.forEach(function (action, at) {
    var button = element("button", action.label, { type: at === 0 ? "submit" : "button", "class": at === 0 ? "main" : "" });
    if (at > 0) button.addEventListener("click", function () { run(action); });
    form.appendChild(button);
    form.appendChild(document.createTextNode(" "));
  });
  if (!spec.noBack) {
    first = element("button", "Back", { type: "button", id: "panel-back" });
    first.addEventListener("click", leavePanel);
    form.appendChild(first);
  }
  form.addEventListener("submit", function (event) { event.preventDefault(); run(spec.actions[0]); });
  form.addEventListener("keydown", function (event) { if (event.key === "Escape" && !spec.noBack) leavePanel(); });
  place.appendChild(form);
  byId("work").hidden = true;
  first = form.querySelector("input, select, textarea") || byId("panel-title");
  first.focus();
}

function swapField(name, label) {
  var recent = recentSwaps();
  return { name: name, label: label, kind: "select", value: recent.length ? String(recent[recent.length - 1].swap) : "",
    options: recent.map(function (swap) { return [String(swap.swap), "swap " + swap.swap + ", " + swap.word]; }) };
}

function reasonField(label) { return { name: "reason", label: label, longest: 200 }; }

function remark() {
  var swap = presentSwap();
  openPanel({
    title: "Remark on swap " + swap.swap, fields: [reasonField("Remark (nobody’s name, no wire’s name)")],
    actions: [{ label: "Write it down", run: function (values) {
      var row = baseRow(swap, "remark");
      if (!values.reason.trim()) return "The remark is empty.";
      row.note = values.reason.trim();
      act([row], null, "Remark written down.");
      return "";
    } }]
  });
}

function skipSwap() {
  var swap = currentSwap();
  openPanel({
    title: "Skip swap " + swap.swap + ", " + swap.word + "?",
    text: ["Both ends skip it. It can still be done later in this block: “" + end.againLabel + "”."],
    fields: [reasonField("Why")],
    actions: [{ label: "Skip it", run: function (values) {
      var row = baseRow(swap, "skip");
      row.note = values.reason.trim();
      act([row], null, "Swap " + swap.swap + " skipped.");
      return "";
    } }]
  });
}

function stopBlock() {
  var current = currentSwap();
  openPanel({
    title: "Stop: close block " + current.block + "?",
    text: ["Source into the dummy load, confirmed by voice, before anything is lowered or touched.",
      "The swaps of this block that are not done are dropped. What was read counts."],
    fields: [{ name: "cause", label: "Why", kind: "select", options: ["thunder", "wind", "rain", "dark", "tired", "battery",
      "gear", "other"].map(function (cause) { return [cause, cause]; }) }, reasonField("More about it")],
    actions: [{ label: "Close the block", run: function (values) {
      var rows = day.swaps.filter(function (swap) {
        return swap.block === current.block && !end.isDone(app.book.rows, swap.swap);
      }).map(function (swap) {
        var row = baseRow(swap, "stop");
        row.note = values.cause + (values.reason.trim() ? ": " + values.reason.trim() : "");
        return row;
      });
      act(rows, null, "Block " + current.block + " closed.");
      return "";
    } }]
  });
}

function compareClocks() {
  openPanel({
    title: "Compare clocks", text: ["Once a day is enough. The other end reads its clock aloud, with seconds; type what it " +
      "said and press the button at once. The clocks themselves stay as they are."],
    fields: [{ name: "other", label: "The other end’s clock, as 10:32:05" }],
    actions: [{ label: "They said it just now", run: function (values) {
      var at = now(), other = otherClock(values.other, at), row;
      if (other === null) return "A clock time is needed, such as 10:32:05; got “" + values.other + "”.";
      row = baseRow(presentSwap(), "clock", at);
      row.other_time = isoTime(other);
      act([row], null, "The other clock is " + Math.abs(Math.round((other - at) / 1000)) + " s " +
        (other >= at ? "ahead." : "behind."));
      return "";
    } }]
  });
}

