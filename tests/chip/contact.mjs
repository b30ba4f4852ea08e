// The relay's contact, and the isolated input that watches its load side.

const INPUT = 14;
// How long after its coil a relay of this size moves its contact (common practice).
const OPERATES_MICROS = 10_000;
const RELEASES_MICROS = 8_000;

/** Holds the input down while the contact conducts, or in step with the half-waves of the mains. */
export class Contact {
  constructor(chip) {
    this.chip = chip;
    this.kind = 'sound';
    this.waves = null;
    this.coil = false;
    this.closed = false;
  }

  /** A chip starts, with its relay released. */
  start(clock) {
    this.moves = clock.createAlarm(() => {
      this.closed = this.coil;
      this.show();
    });
    this.edge = clock.createAlarm(() => this.show());
    this.coil = this.closed;
    this.drive(false);
    this.show();
  }

  /** The chip has no power, so its relay is released and nothing is seen. */
  stop() {
    this.coil = false;
    this.closed = false;
    this.moves = null;
    this.edge = null;
  }

  /** The relay's coil gets current, or has it no longer. */
  drive(on) {
    if (on === this.coil) return;
    this.coil = on;
    this.moves.schedule((on ? OPERATES_MICROS : RELEASES_MICROS) * 1000);
  }

  /** From now on the contact is `sound`, or stands as if `welded` or `burnt`. */
  become(kind) {
    if (!['sound', 'welded', 'burnt'].includes(kind)) throw new Error(`a contact cannot be '${kind}'`);
    if (kind === this.kind) return;
    this.kind = kind;
    this.show();
  }

  /** So many pulses a second, each so long; none a second is a detector with a steady output. */
  pulse(perSecond, litMicros) {
    this.waves = perSecond > 0 ? { period: 1e6 / perSecond, lit: litMicros } : null;
    this.show();
  }

  get live() {
    return this.kind === 'welded' || (this.kind === 'sound' && this.closed);
  }

  show() {
    this.edge?.cancel();
    const { live, waves, chip } = this;
    if (!live || !waves) return chip.setInput(INPUT, !live);
    const into = chip.now() % waves.period;
    const lit = into < waves.lit;
    chip.setInput(INPUT, !lit);
    // What is left of less than a nanosecond is rounding; an alarm would not get past it.
    this.edge?.schedule(Math.max(1, ((lit ? waves.lit : waves.period) - into) * 1000));
  }
}
