"use strict";
// Copies the numbers of a table, as tab-separated text, to the clipboard; where
// the browser does not allow it, shows them in a box to copy by hand.
for (const tools of document.querySelectorAll(".tools")) {
  const table = document.getElementById(tools.dataset.table);
  const status = tools.querySelector("[role=status]");
  tools.hidden = false;
  for (const button of tools.querySelectorAll("button")) {
    button.addEventListener("click", async () => {
      const text = cells(table, button.dataset.all === "yes");
      tools.dispatchEvent(new CustomEvent("copied", { bubbles: true, detail: text }));
      status.textContent = (await toClipboard(text)) ? "Copied." : byHand(tools, text);
    });
  }
}

function cells(table, all) {
  const rows = all ? table.rows : table.tBodies[0].rows;
  return Array.from(rows, (row) =>
    Array.from(row.cells).filter((cell) => all || cell.tagName === "TD").map((cell) => cell.dataset.value).join("\t")
  ).join("\n") + "\n";
}

async function toClipboard(text) {
  try {
    await navigator.clipboard.writeText(text);
    return true;
  } catch {
    return false;
  }
}

function byHand(tools, text) {
  let box = tools.querySelector("textarea");
  if (!box) {
    box = document.createElement("textarea");
    box.readOnly = true;
    box.setAttribute("aria-label", "Numbers of this table");
    tools.append(box);
  }
  box.value = text;
  box.select();
  return "The browser did not allow it; copy the marked text.";
}
