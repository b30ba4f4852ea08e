// An RP2040 that boots an image from its flash vector table, with a deterministic run loop.
import { createRequire } from 'node:module';
import path from 'node:path';
import { Contact } from './contact.mjs';
import { loadElf } from './elf.mjs';
import { MemoryChip } from './memory.mjs';
import { Answers, mend } from './mend.mjs';
import { makeStrict, ProcessorFault } from './strict.mjs';

const require = createRequire(import.meta.url);
const emulator = path.dirname(require.resolve('rp2040js'));
const { RP2040 } = require('rp2040js');
const { SimulationClock } = require(path.join(emulator, 'clock/simulation-clock.js'));

// Every start makes a new chip; without this it would fill 16 MiB of flash each time.
RP2040.prototype.reset = function reset() {
  this.core.reset();
  this.pwm.reset();
};

const FLASH = 0x10000000;
const RAM = 0x20000000;
const RAM_SIZE = 256 * 1024;
const VECTORS = 0x10000100;
const CHIP_RESET = 0x40064;
const MEMORY_ADDRESS = 0x50;
const WATCHDOG_LOAD = 0x04;
const PAINT = 0xa5;
const HARD_FAULT = 3;
const RELAY = 15;
const DRIVEN = 1;
const SPINLOCKS = 0x100;

export class Chip {
  constructor(file) {
    this.elf = loadElf(file);
    this.epoch = 0;
    this.inputs = new Map();
    this.sum = 0;
    this.memory = new MemoryChip(() => this.now());
    this.contact = new Contact(this);
    this.cutAfter = null;
    this.tear = 'arrived';
    this.firstMicros = 0;
    this.starved = false;
    this.crystalStopped = false;
    this.powered = false;
    this.cycles = 0;
    this.faults = 0;
    this.lockups = 0;
    this.fedAt = null;
    this.longestUnfed = 0;
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
    this.noteFed();
    this.powered = false;
    this.contact.stop();
    this.epoch = this.now();
    this.clock = null;
    this.mcu = null;
    this.onPower(this.now());
  }

  /** The reset input is pulled and released. */
  resetInput() {
    this.restart({ reason: 0, cause: 'input' });
  }

  /** A debugger resets the processor and nothing else, while it holds a lock of the hardware. */
  resetCore() {
    const { core, sio } = this.mcu;
    sio.readUint32(SPINLOCKS + 4 * 31);
    core.waiting = false;
    core.PM = false;
    core.IPSR = 0;
    core.pendingInterrupts = 0;
    core.enabledInterrupts = 0;
    core.pendingSystick = false;
    core.pendingPendSV = false;
    this.mcu.ppb.writeUint32(0x010, 0);
    core.reset();
  }

  restart({ reason, cause }) {
    const ram = this.mcu.sram;
    const scratch = this.watchdog.scratchData;
    this.noteFed();
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
    this.lockedUp = false;
    this.fedAt = null;
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
    mend(this, mcu, clock);
    this.wire(mcu, reason, cause, scratch);
    this.contact.start(clock);
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
      if (offset === WATCHDOG_LOAD) this.noteFed();
      writeWatchdog(offset, value);
    };
    watchdog.onWatchdogTrigger = () => {
      // Left alone, the alarm would come again at once for ever.
      watchdog.alarm.enable = false;
      this.pending = { reason: watchdog.reason, cause: 'watchdog' };
    };
    mcu.uart[0].onByte = (byte) => this.onByte(byte);
    for (const pin of mcu.gpio) pin.addListener((state) => this.onPin(pin.index, state, this.now()));
    mcu.gpio[RELAY].addListener((state) => this.contact.drive(state === DRIVEN));
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

  /** The watchdog was fed, or its wait for it is over. */
  noteFed() {
    if (this.fedAt !== null) this.longestUnfed = Math.max(this.longestUnfed, this.now() - this.fedAt);
    this.fedAt = this.now();
  }

  /** Flips a bit of RAM. From then on until the next start the processor faults as a real one. */
  flip(address, bit) {
    const image = this.elf.segments.filter(([at]) => at >= FLASH && at < FLASH + 0x1000000);
    makeStrict(this.mcu, Math.max(...image.map(([at, bytes]) => at + bytes.length)));
    this.mcu.sram[address - RAM] ^= 1 << bit;
  }

  /** A hard fault; within another it locks the processor up, until it is reset. */
  fault() {
    const core = this.mcu.core;
    this.faults++;
    core.waiting = false;
    try {
      if (core.IPSR === HARD_FAULT) throw new ProcessorFault();
      core.exceptionEntry(HARD_FAULT);
    } catch (error) {
      if (!(error instanceof ProcessorFault)) throw error;
      this.lockups++;
      this.lockedUp = true;
      core.waiting = true;
    }
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
      try {
        if (this.marks.size > 0) this.runMarked();
        else this.runFast();
      } catch (error) {
        if (!(error instanceof ProcessorFault)) throw error;
        this.fault();
      }
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
    if (this.lockedUp) return false;
    const pending = core.pendingInterrupts & core.enabledInterrupts || core.pendingSystick || core.pendingPendSV || core.pendingNMI;
    if (!pending) return false;
    core.waiting = false;
    core.interruptsUpdated = true;
    return true;
  }

  /** Bytes of stack that have been used since power came. */
  stackUsed() {
    const { statics, top } = this.places();
    let at = statics;
    while (at < top && this.mcu.sram[at - RAM] === PAINT) at++;
    return top - at;
  }

  /** Where static memory ends, the stack stands and the stack began. */
  places() {
    const sections = this.elf.sections.filter((s) => s.address >= RAM && s.address < RAM + RAM_SIZE);
    return {
      statics: Math.max(RAM, ...sections.map((s) => s.address + s.size)),
      stack: this.mcu.core.SP,
      top: this.mcu.flashView.getUint32(VECTORS - FLASH, true),
    };
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
