// An RP2040 that boots an image from its flash vector table, with a deterministic run loop.
//
// What rp2040js 1.4.1 gets wrong or leaves out, as far as this image meets it, is put
// right in `mend` below; each mend says what it is for.
import { createRequire } from 'node:module';
import path from 'node:path';
import { loadElf } from './elf.mjs';
import { CrystalClock } from './crystal.mjs';
import { MemoryChip } from './memory.mjs';

const require = createRequire(import.meta.url);
const emulator = path.dirname(require.resolve('rp2040js'));
const { RP2040 } = require('rp2040js');
const { SimulationClock } = require(path.join(emulator, 'clock/simulation-clock.js'));
const { RPTimer } = require(path.join(emulator, 'peripherals/timer.js'));
const { RPWatchdog } = require(path.join(emulator, 'peripherals/watchdog.js'));
const { RPADC } = require(path.join(emulator, 'peripherals/adc.js'));
const { BasePeripheral } = require(path.join(emulator, 'peripherals/peripheral.js'));

// Every start makes a new chip; without this it would fill 16 MiB of flash each time.
RP2040.prototype.reset = function reset() {
  this.core.reset();
  this.pwm.reset();
};

const FLASH = 0x10000000;
const RAM = 0x20000000;
const RAM_SIZE = 256 * 1024;
const VECTORS = 0x10000100;
const TIMER = 0x40054;
const WATCHDOG = 0x40058;
const CONVERTER = 0x4004c;
const RING_OSCILLATOR = 0x40060;
const CHIP_RESET = 0x40064;
const MEMORY_ADDRESS = 0x50;
const WATCHDOG_LOAD = 0x04;
const RECEIVED_ON_LINE_0 = 21;
const PAINT = 0xa5;

/** A register block with fixed answers. */
class Answers extends BasePeripheral {
  constructor(mcu, name, answers) {
    super(mcu, name);
    this.answers = answers;
  }
  readUint32(offset) {
    return this.answers[offset] ?? 0;
  }
  writeUint32() {}
}

export class Chip {
  constructor(file) {
    this.elf = loadElf(file);
    this.epoch = 0;
    this.inputs = new Map();
    this.sum = 0;
    this.memory = new MemoryChip(() => this.now());
    this.cutAfter = null;
    this.tear = 'arrived';
    this.firstMicros = 0;
    this.starved = false;
    this.crystalStopped = false;
    this.powered = false;
    this.cycles = 0;
    this.marks = new Map();
    this.onPin = () => {};
    this.onByte = () => {};
    this.onReset = () => {};
    this.onPower = () => {};
  }

  /** Microseconds since the harness started. */
  now() {
    return this.epoch + (this.clock ? this.clock.nanosCounter / 1000 : 0);
  }

  powerOn() {
    if (this.powered) return;
    this.powered = true;
    this.memory.powerUp();
    this.boot({ reason: 0, cause: 'power', ram: null });
  }

  powerOff() {
    if (!this.powered) return;
    this.memory.lose(this.tear);
    this.losePower();
  }

  losePower() {
    this.powered = false;
    this.epoch = this.now();
    this.clock = null;
    this.mcu = null;
    this.onPower(this.now());
  }

  /** The reset input is pulled and released. */
  resetInput() {
    this.restart({ reason: 0, cause: 'input' });
  }

  restart({ reason, cause }) {
    const ram = this.mcu.sram;
    const scratch = this.watchdog.scratchData;
    this.epoch = this.now();
    this.boot({ reason, cause, ram, scratch });
    this.onReset(cause, this.now());
  }

  boot({ reason, cause, ram, scratch }) {
    const clock = new SimulationClock();
    const mcu = new RP2040(clock);
    this.clock = clock;
    this.mcu = mcu;
    this.pending = null;
    mcu.logger = {
      debug() {},
      info() {},
      warn: (where, what) => this.complain(where, what),
      error: (where, what) => this.complain(where, what),
    };
    for (const [address, bytes] of this.elf.segments) {
      if (address >= FLASH && address < FLASH + 0x1000000) mcu.flash.set(bytes, address - FLASH);
    }
    // Power brings up memory without meaning; a pattern shows how deep the stack went.
    if (ram) mcu.sram.set(ram);
    else mcu.sram.fill(PAINT);
    this.mend(mcu, clock);
    this.wire(mcu, reason, cause, scratch);
    mcu.core.VTOR = VECTORS;
    mcu.core.SP = mcu.flashView.getUint32(VECTORS - FLASH, true);
    mcu.core.PC = mcu.flashView.getUint32(VECTORS - FLASH + 4, true) & ~1;
    this.stopAlarm = clock.createAlarm(() => (this.stop = true));
    if (this.crystalStopped) this.crystal.stop();
  }

  /** Registers that the emulator lacks are none of the image's fault; wild addresses are. */
  complain(where, what) {
    if (/^Unimplemented/.test(what)) return;
    throw new Error(`${where}: ${what}, at ${this.mcu.core.PC.toString(16)}`);
  }

  mend(mcu, clock) {
    const core = mcu.core;
    // A handler must not be entered during WFI while PRIMASK is set: only take note
    // of the interrupt here; the run loop wakes the core.
    core.setInterrupt = (irq, raised) => {
      const bit = 1 << irq;
      if (!raised) core.pendingInterrupts &= ~bit;
      else if (!(core.pendingInterrupts & bit)) {
        core.pendingInterrupts |= bit;
        core.interruptsUpdated = true;
      }
    };
    // Short cuts for the two memories, four times faster.
    const { flash16, flashView, sramView } = mcu;
    core.readUint16 = (at) => (at >>> 24 === 0x10 ? flash16[(at & 0xffffff) >> 1] : mcu.readUint16(at));
    core.readUint32 = (at) => {
      if (at >>> 18 === 0x800 && !(at & 3)) return sramView.getUint32(at & 0x3ffff, true);
      if (at >>> 24 === 0x10 && !(at & 3)) return flashView.getUint32(at & 0xffffff, true);
      return mcu.readUint32(at);
    };
    core.writeUint32 = (at, value) => {
      if (at >>> 18 === 0x800 && !(at & 3)) sramView.setUint32(at & 0x3ffff, value, true);
      else mcu.writeUint32(at, value);
    };

    // Timer, watchdog and converter follow the crystal, which can stop.
    this.crystal = new CrystalClock(clock, this.firstMicros * 1000);
    this.firstMicros = 0;
    mcu.clock = this.crystal;
    const timer = new RPTimer(mcu, 'TIMER');
    const watchdog = new RPWatchdog(mcu, 'WATCHDOG');
    const converter = new RPADC(mcu, 'ADC');
    mcu.clock = clock;
    mcu.peripherals[TIMER] = timer;
    mcu.peripherals[WATCHDOG] = watchdog;
    mcu.peripherals[CONVERTER] = converter;
    mcu.adc = converter;
    this.watchdog = watchdog;

    // Alarms come up to a microsecond early, as the fraction of the current one is dropped.
    const writeTimer = timer.writeUint32.bind(timer);
    timer.writeUint32 = (offset, value) => {
      writeTimer(offset, value);
      if (offset >= 0x10 && offset <= 0x1c) {
        const nanos = this.crystal.nanos;
        const micros = Math.floor(nanos / 1000);
        const ahead = (value - (micros % 2 ** 32)) >>> 0;
        timer.alarms[(offset - 0x10) >> 2].clockAlarm.schedule(Math.max(0, ahead * 1000 - (nanos - micros * 1000)));
      }
    };

    // The serial line's receiver never asks the DMA controller to take a byte.
    const line = mcu.uart[0];
    const feedByte = line.feedByte.bind(line);
    line.feedByte = (byte) => {
      feedByte(byte);
      mcu.dma.setDREQ(RECEIVED_ON_LINE_0);
    };
    const readLine = line.readUint32.bind(line);
    line.readUint32 = (offset) => {
      const value = readLine(offset);
      if (line.rxFIFO.empty) mcu.dma.clearDREQ(RECEIVED_ON_LINE_0);
      return value;
    };

    // Two registers that are not modelled at all.
    mcu.peripherals[RING_OSCILLATOR] = new Answers(mcu, 'ROSC', { 0x18: 0x80001000 });
  }

  wire(mcu, reason, cause, scratch) {
    mcu.peripherals[CHIP_RESET] = new Answers(mcu, 'VREG_AND_CHIP_RESET', {
      0x08: cause === 'input' ? 1 << 16 : 1 << 8,
    });
    const watchdog = this.watchdog;
    watchdog.reason = reason;
    if (scratch) watchdog.scratchData.set(scratch);
    const writeWatchdog = watchdog.writeUint32.bind(watchdog);
    watchdog.writeUint32 = (offset, value) => {
      // Its first meal after a start it gets, or it would bite at once, for ever.
      if (this.starved && offset === WATCHDOG_LOAD && watchdog.enable) return;
      writeWatchdog(offset, value);
    };
    watchdog.onWatchdogTrigger = () => {
      // Left alone, the alarm would come again at once for ever.
      watchdog.alarm.enable = false;
      this.pending = { reason: watchdog.reason, cause: 'watchdog' };
    };
    mcu.uart[0].onByte = (byte) => this.onByte(byte);
    for (const pin of mcu.gpio) pin.addListener((state) => this.onPin(pin.index, state, this.now()));
    for (const [pin, level] of this.inputs) mcu.gpio[pin].setInputValue(level);

    // Sixteen conversions that add up to the sum the host has set.
    let taken = 0;
    mcu.adc.onADCRead = (channel) => {
      const low = this.sum >> 4;
      mcu.adc.channelValues[0] = taken < (this.sum & 15) ? low + 1 : low;
      taken = (taken + 1) & 15;
      mcu.adc.currentChannel = channel;
      mcu.adc.sampleAlarm.schedule(mcu.adc.sampleTime * 1000);
    };
    this.wireBus(mcu.i2c[0]);
  }

  wireBus(bus) {
    let chip = null;
    // While an abort stands the controller takes no bytes; they would begin a new transaction.
    const write = bus.writeUint32.bind(bus);
    bus.writeUint32 = (offset, value) => {
      if (!(offset === 0x10 && bus.intRaw & 0x40)) write(offset, value);
    };
    const passes = (answer) => {
      if (this.memory.mode === 'stuck' || !this.countByte()) return;
      answer();
    };
    bus.onStart = () => bus.completeStart();
    bus.onConnect = (address, mode) =>
      passes(() => {
        chip = address === MEMORY_ADDRESS && this.memory.connect(mode === 1) ? this.memory : null;
        bus.completeConnect(chip !== null);
      });
    bus.onWriteByte = (value) =>
      passes(() => {
        chip.write(value);
        bus.completeWrite(true);
      });
    bus.onReadByte = () => passes(() => bus.completeRead(chip.read()));
    bus.onStop = () => {
      chip?.stop();
      chip = null;
      bus.completeStop();
    };
  }

  /** Counts a byte on the bus; false if the power has failed before it. */
  countByte() {
    this.memory.bytes++;
    if (this.cutAfter === null) return true;
    if (this.cutAfter > 0) {
      this.cutAfter--;
      return true;
    }
    this.cutAfter = null;
    this.memory.lose(this.tear);
    this.stop = true;
    this.pending = { cut: true };
    return false;
  }

  setInput(pin, level) {
    if (this.inputs.get(pin) === level) return;
    this.inputs.set(pin, level);
    this.mcu?.gpio[pin].setInputValue(level);
  }

  stopCrystal(stopped) {
    this.crystalStopped = stopped;
    if (stopped) this.crystal?.stop();
    else this.crystal?.resume();
  }

  /** Puts the processor into an endless loop with interrupts off. */
  hang() {
    const core = this.mcu.core;
    const at = RAM_SIZE - 4;
    this.mcu.sramView.setUint16(at, 0xe7fe, true);
    core.PM = true;
    core.waiting = false;
    core.PC = RAM + at;
  }

  /** Runs until the absolute time `micros`, or until a mark has set `arrived`; asleep, it skips to the next alarm. */
  runUntil(micros) {
    this.arrived = false;
    // What is left of less than a nanosecond is rounding; an alarm would not get past it.
    while (micros - this.now() > 1e-3 && !this.arrived) {
      if (!this.powered) {
        this.epoch = micros;
        return;
      }
      this.stop = false;
      this.stopAlarm.schedule((micros - this.epoch) * 1000 - this.clock.nanosCounter);
      if (this.marks.size > 0) this.runMarked();
      else this.runFast();
      this.stopAlarm.cancel();
      const pending = this.pending;
      if (pending?.cut) this.losePower();
      else if (pending) this.restart(pending);
    }
  }

  runFast() {
    const { clock, mcu } = this;
    const core = mcu.core;
    let rate = mcu.clkSys;
    let period = 1e9 / rate;
    let spent = 0;
    while (!this.stop && this.pending === null) {
      if (core.waiting) {
        if (!this.wake(core)) clock.tick(clock.nextAlarm.nanos - clock.nanosCounter);
        continue;
      }
      const cycles = core.executeInstruction();
      spent += cycles;
      const next = clock.nanosCounter + cycles * period;
      if (clock.nextAlarm.nanos <= next) clock.tick(cycles * period);
      else clock.nanosCounter = next;
      if (mcu.clkSys !== rate) {
        rate = mcu.clkSys;
        period = 1e9 / rate;
      }
    }
    this.cycles += spent;
  }

  /** As `runFast`, looking at every instruction's address. */
  runMarked() {
    const { clock, mcu, marks } = this;
    const core = mcu.core;
    let period = 1e9 / mcu.clkSys;
    while (!this.stop && this.pending === null) {
      if (core.waiting) {
        if (!this.wake(core)) clock.tick(clock.nextAlarm.nanos - clock.nanosCounter);
        continue;
      }
      const mark = marks.get(core.PC);
      if (mark !== undefined) {
        mark(core);
        if (this.arrived) break;
        period = 1e9 / mcu.clkSys;
      }
      const cycles = core.executeInstruction();
      this.cycles += cycles;
      const next = clock.nanosCounter + cycles * period;
      if (clock.nextAlarm.nanos <= next) clock.tick(cycles * period);
      else clock.nanosCounter = next;
    }
  }

  /** A pending interrupt ends a sleep even if it was pending before, and so does the system tick. */
  wake(core) {
    const pending = core.pendingInterrupts & core.enabledInterrupts || core.pendingSystick || core.pendingPendSV || core.pendingNMI;
    if (!pending) return false;
    core.waiting = false;
    core.interruptsUpdated = true;
    return true;
  }

  /** Bytes of stack that have been used since power came. */
  stackUsed() {
    const top = this.mcu.flashView.getUint32(VECTORS - FLASH, true) - RAM;
    const statics = this.elf.sections.filter((s) => s.address >= RAM && s.address < RAM + RAM_SIZE);
    let at = Math.max(0, ...statics.map((s) => s.address + s.size - RAM));
    while (at < top && this.mcu.sram[at] === PAINT) at++;
    return top - at;
  }

  /** Bytes of flash and of static memory. */
  sizes() {
    const inRam = (s) => s.address >= RAM && s.address < RAM + RAM_SIZE;
    const sum = (sections) => sections.reduce((total, s) => total + s.size, 0);
    const ram = this.elf.sections.filter(inRam);
    const flash = this.elf.sections.filter((s) => s.address >= FLASH && s.address < FLASH + 0x1000000);
    return { flash: sum(flash) + sum(ram.filter((s) => !s.zeroed)), ram: sum(ram) };
  }
}
