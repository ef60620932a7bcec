/* Export at any time, and import of what another device exported. */
function fileText() {
  return toCsv(day.columns, app.book.rows.map(function (row) {
    return day.columns.indexOf("receiver") < 0 ? row : Object.assign({}, row, { receiver: app.receiver });
  }));
}

function exportFile() {
  var link = element("a", "", { download: day.file }), url;
  url = URL.createObjectURL(new Blob([fileText()], { type: "text/csv;charset=utf-8" }));
  link.href = url;
  document.body.appendChild(link);
  link.click();
  document.body.removeChild(link);
  window.setTimeout(function () { URL.revokeObjectURL(url); }, 60000);
  app.exported = true;
  say("Exported as " + day.file + ". If no file came, use “Show the file as text”.");
}

function showText() {
  openPanel({
    title: "The file as text", text: ["Copy it into a mail or a note, and save it as " + day.file + "."],
    fields: [{ name: "text", label: day.file, kind: "area", value: fileText(), readonly: true }],
    actions: [{ label: "Copy", run: function () {
      var box = byId("panel-text");
      box.select();
      try { document.execCommand("copy"); say("Copied."); } catch (error) { return "Copy it by hand: the text is selected."; }
      app.exported = true;
      return "";
    } }]
  });
}

function checkImport(found) {
  var missing = day.columns.filter(function (name) { return found.columns.indexOf(name) < 0; });
  var last = 0, trouble = "";
  if (missing.length) return "This is not a file that this page exported. Missing: " + missing.join(", ") + ".";
  found.rows.forEach(function (row, at) {
    var swap = swapOf(row.swap), line = "Line " + (at + 2) + ": ";
    if (trouble) return;
    if (!swap || swap.word !== row.word) trouble = line + "swap " + row.swap + " with word " + row.word + " is not in this order.";
    else if (!/^\d+$/.test(row.entry) || Number(row.entry) < last) trouble = line + "the entries do not rise.";
    else if (isNaN(Date.parse(row.time))) trouble = line + "“" + row.time + "” is not a time.";
    else trouble = (end.checkRow(row) && line + end.checkRow(row)) || "";
    last = Number(row.entry);
  });
  return trouble;
}

function takeImport(text) {
  var found, trouble;
  try { found = fromCsv(text); } catch (error) { return error.message; }
  trouble = checkImport(found);
  if (trouble) return trouble;
  if (app.book.rows.length && !app.exported) exportFile();
  app.book = { rows: found.rows.map(function (row) {
    var kept = {};
    day.columns.forEach(function (name) { kept[name] = row[name]; });
    return kept;
  }), undone: [] };
  app.receiver = found.rows.length ? found.rows[0].receiver || "" : "";
  closePanel(); store(); draw();
  say("Imported: " + found.rows.length + " rows. Go on where the other device stopped.");
  return "";
}

function importFile() {
  openPanel({
    title: "Import a record from another device",
    text: app.book.rows.length ? ["The " + app.book.rows.length + " rows on this device are exported first, then replaced."] : [],
    fields: [{ name: "file", label: "The exported file", kind: "file" },
      { name: "text", label: "Or its text, pasted here", kind: "area" }],
    actions: [{ label: "Import", run: function (values) {
      var file = byId("panel-file").files[0], reader;
      if (values.text.trim()) return takeImport(values.text);
      if (!file) return "Choose a file, or paste its text.";
      reader = new FileReader();
      reader.onload = function () {
        var trouble = takeImport(String(reader.result)), box = document.querySelector(".panel .wrong");
        if (trouble && box) { box.textContent = trouble; box.hidden = false; }
      };
      reader.readAsText(file);
      return "";
    } }]
  });
}

