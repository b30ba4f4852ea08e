// A memory chip of the 24C256 kind that can be absent, stuck, slow, worn or torn.

const SIZE = 32768;
const PAGE = 64;

export class MemoryChip {
  constructor(now) {
    this.now = now;
    this.cells = new Uint8Array(SIZE).fill(0xff);
    this.mode = 'present';
    this.writeMicros = 5000;
    this.worn = new Set();
    this.pageWrites = new Map();
    this.bytes = 0;
    this.refusals = 0;
    this.powerUp();
  }

  /** Forgets what was under way, as the chip does when power comes. */
  powerUp() {
    this.busyUntil = -1;
    this.pointer = 0;
    this.addressBytes = 0;
    this.page = null;
    this.programming = null;
  }

  /** Whether the chip answers its address. */
  connect(reading) {
    if (this.mode === 'absent' || this.now() < this.busyUntil) {
      this.refusals++;
      return false;
    }
    this.programming = null;
    if (!reading) {
      this.addressBytes = 0;
      this.page = null;
    }
    return true;
  }

  write(value) {
    if (this.addressBytes === 0) {
      this.pointer = (value & 0x7f) << 8;
      this.addressBytes = 1;
    } else if (this.addressBytes === 1) {
      this.pointer |= value;
      this.addressBytes = 2;
    } else {
      this.page ??= { base: this.pointer & ~(PAGE - 1), data: new Map() };
      this.page.data.set(this.pointer, value);
      this.pointer = this.page.base + ((this.pointer + 1) % PAGE);
    }
  }

  read() {
    const value = this.cells[this.pointer];
    this.pointer = (this.pointer + 1) % SIZE;
    return value;
  }

  /** A stop after data begins the chip's own writing. */
  stop() {
    if (this.page === null) return;
    this.programming = this.page;
    this.page = null;
    this.take(this.programming.data);
    this.pageWrites.set(this.programming.base, (this.pageWrites.get(this.programming.base) ?? 0) + 1);
    this.busyUntil = this.now() + this.writeMicros;
  }

  take(data) {
    for (const [address, value] of data) {
      if (!this.worn.has(address)) this.cells[address] = value;
    }
  }

  /** Power fails. `tear` says what becomes of a page that is being sent or written. */
  lose(tear) {
    const torn = this.page ?? (this.now() < this.busyUntil ? this.programming : null);
    if (torn === null) return;
    if (tear === 'garbled') this.cells.fill(0xa5, torn.base, torn.base + PAGE);
    else if (this.page !== null) this.take(torn.data);
  }
}
