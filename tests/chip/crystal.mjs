// The crystal's time: the emulator's time as long as the crystal swings.

/** Stands in for the emulator's clock in everything that the crystal drives. */
export class CrystalClock {
  /** `startNanos` is what the crystal's counters show when `clock` shows zero. */
  constructor(clock, startNanos) {
    this.clock = clock;
    this.offset = startNanos;
    this.stoppedAt = null;
    this.alarms = [];
  }

  get nanos() {
    return (this.stoppedAt ?? this.clock.nanosCounter) + this.offset;
  }

  get micros() {
    return this.nanos / 1000;
  }

  createAlarm(callback) {
    const alarm = new CrystalAlarm(this, callback);
    this.alarms.push(alarm);
    return alarm;
  }

  stop() {
    if (this.stoppedAt !== null) return;
    this.stoppedAt = this.clock.nanosCounter;
    for (const alarm of this.alarms) alarm.suspend();
  }

  resume() {
    if (this.stoppedAt === null) return;
    this.offset -= this.clock.nanosCounter - this.stoppedAt;
    this.stoppedAt = null;
    for (const alarm of this.alarms) alarm.resume();
  }
}

class CrystalAlarm {
  constructor(crystal, callback) {
    this.crystal = crystal;
    this.due = null;
    this.alarm = crystal.clock.createAlarm(() => {
      this.due = null;
      callback();
    });
  }

  get scheduled() {
    return this.due !== null;
  }

  schedule(deltaNanos) {
    this.due = this.crystal.nanos + deltaNanos;
    this.resume();
  }

  cancel() {
    this.due = null;
    this.alarm.cancel();
  }

  suspend() {
    this.alarm.cancel();
  }

  resume() {
    if (this.due === null || this.crystal.stoppedAt !== null) return;
    this.alarm.schedule(Math.max(0, this.due - this.crystal.nanos));
  }
}
