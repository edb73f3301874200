// @ts-check
// Findings as pins on the board and as a list; each leads to the other.

const find = (name) => document.getElementById(name);

export class Check {
  constructor(board, finish) {
    this.board = board;
    /** @type {Told} */
    this.toLine = () => {};
    find('check').addEventListener('click', (event) => {
      const line = event.target.closest?.('.to-line');
      if (line) {
        event.preventDefault();
        this.toLine(Number(line.dataset.source.split(':')[1]));
        return;
      }
      const goto = event.target.closest?.('.goto');
      if (!goto) return;
      const at = goto.closest('.finding').dataset;
      finish();
      board.opened = Number(at.pin);
      board.goTo(at.face, Number(at.x), Number(at.y));
      board.canvas.focus({ preventScroll: true });
    });
  }

  // nobody waits for them, but paper would not either: one after the other, as long as nothing else is wanted
  async pictures(wanted) {
    for (const each of document.querySelectorAll('#check img[loading="lazy"]')) {
      if (!wanted()) return;
      each.loading = 'eager';
      await each.decode().catch(() => {});
    }
  }
}
