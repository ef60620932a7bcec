/* CSV with every cell safe to open in a spreadsheet: text that one would take for a formula gets a quote mark before it,
   which is taken off again when the file is read here. Numbers stay numbers. */
var NUMBER = /^[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d+)?$/;
var FORMULA = /(^|;)(?=[ ']*[=+\-@＝＋－＠])/g, MARKED = /(^|;)'(?=[ ']*[=+\-@＝＋－＠])/g;

function cellText(value) {
  var text = value === undefined || value === null ? "" : String(value);
  text = text.replace(/[\u0000-\u001f\u007f\u2028\u2029]+/g, " ");
  if (!NUMBER.test(text)) text = text.replace(FORMULA, "$1'");
  return /[",\n\r]|^\s|\s$/.test(text) ? '"' + text.replace(/"/g, '""') + '"' : text;
}

function toCsv(columns, rows) {
  var lines = [columns.join(",")];
  rows.forEach(function (row) {
    lines.push(columns.map(function (name) { return cellText(row[name]); }).join(","));
  });
  return lines.join("\n") + "\n";
}

function csvCells(text) {
  var table = [], row = [], cell = "", quoted = false, i, c;
  text = text.replace(/^\ufeff/, "").replace(/\r\n?/g, "\n");
  for (i = 0; i < text.length; i += 1) {
    c = text[i];
    if (quoted) {
      if (c !== '"') cell += c;
      else if (text[i + 1] === '"') { cell += '"'; i += 1; }
      else quoted = false;
    } else if (c === '"' && cell === "") quoted = true;
    else if (c === ",") { row.push(cell); cell = ""; }
    else if (c === "\n") { row.push(cell); table.push(row); row = []; cell = ""; }
    else cell += c;
  }
  if (quoted) throw new Error("A quote mark is opened and never closed: the file is cut off.");
  if (cell !== "" || row.length) { row.push(cell); table.push(row); }
  return table.filter(function (cells) { return cells.join("").trim() !== ""; });
}

function fromCsv(text) {
  var table = csvCells(text), names;
  if (!table.length) throw new Error("The file is empty.");
  names = table[0].map(function (name) { return name.trim(); });
  return {
    columns: names,
    rows: table.slice(1).map(function (cells, place) {
      var row = {};
      if (cells.length !== names.length) throw new Error("Line " + (place + 2) + " is not as long as the head of the table.");
      names.forEach(function (name, at) {
        row[name] = cells[at].replace(MARKED, "$1");
      });
      return row;
    })
  };
}
