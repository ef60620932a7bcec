/* The record: rows in the order in which they were written. A user's action is an entry; its rows carry its number and
   rows that it left out say so, so that undo needs nothing but the rows themselves. The terminal's recorder keeps the
   same book (antexp/field/record_book.py). */
function lastEntry(rows) {
  return rows.length ? Number(rows[rows.length - 1].entry) : 0;
}

/* Whether a row counts unless something leaves it out: readings and hangings do, remarks and the like do not. */
function ownKeep(row) {
  return ["reading", "noise", "up", "down"].indexOf(row.what) >= 0 ? "1" : "0";
}

function withEntry(book, added, leavesOut) {
  var entry = String(lastEntry(book.rows) + 1);
  var rows = book.rows.map(function (row) {
    return leavesOut && leavesOut(row) ? Object.assign({}, row, { keep: "0", left_out_by: entry }) : row;
  });
  return {
    rows: rows.concat(added.map(function (row) { return Object.assign({}, row, { keep: ownKeep(row), entry: entry, left_out_by: "" }); })),
    undone: []
  };
}

function undo(book) {
  var entry = String(lastEntry(book.rows)), tail = [], left = [], rows = [];
  if (!book.rows.length) return book;
  book.rows.forEach(function (row) {
    if (row.entry === entry) tail.push(row);
    else if (row.left_out_by === entry) {
      left.push(rows.length);
      rows.push(Object.assign({}, row, { keep: ownKeep(row), left_out_by: "" }));
    } else rows.push(row);
  });
  return { rows: rows, undone: book.undone.concat([{ rows: tail, left: left }]) };
}

function bringBack(book) {
  var item = book.undone[book.undone.length - 1], rows;
  if (!item) return book;
  rows = book.rows.map(function (row, place) {
    return item.left.indexOf(place) < 0 ? row : Object.assign({}, row, { keep: "0", left_out_by: item.rows[0].entry });
  });
  return { rows: rows.concat(item.rows), undone: book.undone.slice(0, -1) };
}

function standsIn(rows, swap, what) {
  return rows.filter(function (row) {
    return row.swap === String(swap) && row.left_out_by === "" && what.indexOf(row.what) >= 0;
  });
}
