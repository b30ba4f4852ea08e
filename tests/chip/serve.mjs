// A line protocol for lockstep: one request line in, one reply line out.
//
//   power 0|1                      take or give power                       ok
//   reset                          pull the reset input                     ok
//   core                           reset the processor alone                ok
//   in PIN 0|1                     drive an input pin                       ok
//   contact sound|welded|burnt     what the relay's contact does            ok
//   waves PER_SECOND MICROS        the feedback's pulses; 0 for a steady one ok
//   sum N                          sixteen conversions add up to N          ok
//   run MICROS [N]                 run on, after setting the sum to N       NOW [happening...]
//   send HEX                       bytes on the serial line, at 115200 baud ok
//   crystal 0|1                    stop the crystal, or let it swing        ok
//   starve 0|1                     ignore the feeding of the watchdog       ok
//   hang                           put the processor into an endless loop   ok
//   flip ADDRESS BIT               flip a bit of RAM; faults are real then  ok
//   places                         ends of static memory, stack in use and stack
//   unfed                          longest wait of the watchdog, anew       MICROS
//   faults                         FAULTS LOCKUPS of the processor so far
//   timer MICROS                   what the timer shows at the next power   ok
//   memory absent|present|stuck    how the memory chip behaves              ok
//   memory slow MICROS             how long it writes a page                ok
//   memory wear ADDRESS            a cell that keeps its value              ok
//   load ADDRESS HEX               put bytes into the memory chip           ok
//   dump ADDRESS LENGTH            bytes of the memory chip                 HEX
//   cut BYTES arrived|garbled      power fails after so many bus bytes      ok
//   bus                            bytes on the bus, refusals, most writes of a page
//   mark NAME                      count cycles from entry to return        ok
//   period NAME                    count cycles from entry to entry         ok
//   cycles NAME                    COUNT LARGEST of what was counted, anew
//   poke NAME OFFSET HEX           put bytes at a symbol in RAM             ok
//   peek NAME OFFSET LENGTH        bytes at a symbol in RAM                 HEX
//   tasks                          run the proof's image until it waits     ok
//   exchange HEX                   put bytes at TASK, run to proof_waits    bytes at OUTCOME
//   lights 0|1                     tell the light and the buzzer too        ok
//   stack                          bytes of stack used since power came
//   sizes                          FLASH RAM, in bytes
//
// Numbers are decimal. A happening is relay=LEVEL@NOW, light=, buzzer=, reset=CAUSE@NOW,
// cut@NOW or line=HEX@NOW. What cannot be done is answered with "error: " and why.
import fs from 'node:fs';
import { Chip } from './chip.mjs';
import { addressOf } from './elf.mjs';

const PINS = new Map([
  [15, 'relay'],
  [16, 'light'],
  [17, 'buzzer'],
]);
const RAM = 0x20000000;
const BYTE_MICROS = 87;

const [image] = process.argv.slice(2);
if (!image) {
  process.stderr.write('usage: node serve.mjs IMAGE.elf\n');
  process.exit(2);
}
const chip = new Chip(image);
let happenings = [];
let line = [];
const levels = new Map();
const sending = [];
let nextByteAt = 0;
let watchingLights = false;

function set(name, level) {
  if (levels.get(name) === level) return;
  levels.set(name, level);
  if (name === 'relay' || watchingLights) happenings.push(`${name}=${level}@${chip.now().toFixed(1)}`);
}
for (const name of PINS.values()) levels.set(name, 0);
chip.onPin = (pin, state) => {
  const name = PINS.get(pin);
  // An input is what reset leaves behind; the board's resistors pull these pins down.
  if (name) set(name, state === 1 ? 1 : 0);
};
chip.onByte = (byte) => {
  if (byte !== 10) return line.push(byte);
  happenings.push(`line=${Buffer.from(line).toString('hex')}@${chip.now().toFixed(1)}`);
  line = [];
};
const released = () => {
  for (const name of PINS.values()) set(name, 0);
  line = [];
};
chip.onReset = (cause, now) => {
  released();
  happenings.push(`reset=${cause}@${now.toFixed(1)}`);
};
chip.onPower = (now) => {
  released();
  happenings.push(`cut@${now.toFixed(1)}`);
};

function run(end) {
  while (sending.length > 0 && chip.powered) {
    nextByteAt = Math.max(nextByteAt, chip.now());
    if (nextByteAt > end) break;
    chip.runUntil(nextByteAt);
    if (!chip.powered) break;
    chip.mcu.uart[0].feedByte(sending.shift());
    nextByteAt += BYTE_MICROS;
  }
  chip.runUntil(end);
  const told = [chip.now().toFixed(1), ...happenings].join(' ');
  happenings = [];
  return told;
}

const counted = new Map();
function mark(name, period) {
  const entry = addressOf(chip.elf, name);
  const tally = { count: 0, largest: 0, since: null };
  counted.set(name, tally);
  const done = () => {
    tally.count++;
    tally.largest = Math.max(tally.largest, chip.cycles - tally.since);
  };
  chip.marks.set(entry, (core) => {
    if (period) {
      if (tally.since !== null) done();
      tally.since = chip.cycles;
      return;
    }
    tally.since = chip.cycles;
    const back = core.LR & ~1;
    const before = chip.marks.get(back);
    chip.marks.set(back, (at) => {
      done();
      if (before) chip.marks.set(back, before);
      else chip.marks.delete(back);
      before?.(at);
    });
  });
}

const task = {};
const inRam = (name, offset) => addressOf(chip.elf, name) - RAM + offset;

const requests = {
  power: ([on]) => (on === '1' ? chip.powerOn() : chip.powerOff()),
  reset: () => chip.resetInput(),
  core: () => chip.resetCore(),
  contact: ([kind]) => chip.contact.become(kind),
  waves: ([perSecond, micros]) => chip.contact.pulse(+perSecond, +micros),
  in: ([pin, level]) => chip.setInput(+pin, level === '1'),
  sum: ([sum]) => void (chip.sum = +sum),
  run: ([micros, sum]) => {
    if (sum !== undefined) chip.sum = +sum;
    return run(chip.now() + +micros);
  },
  send: ([hex]) => void sending.push(...Buffer.from(hex, 'hex')),
  crystal: ([on]) => chip.stopCrystal(on === '0'),
  starve: ([on]) => void (chip.starved = on === '1'),
  hang: () => chip.hang(),
  flip: ([address, bit]) => chip.flip(+address, +bit),
  places: () => {
    const { statics, stack, top } = chip.places();
    return `${statics} ${stack} ${top}`;
  },
  unfed: () => {
    const waits = chip.powered && chip.fedAt !== null ? chip.now() - chip.fedAt : 0;
    const longest = Math.max(chip.longestUnfed, waits);
    chip.longestUnfed = 0;
    return longest.toFixed(1);
  },
  faults: () => `${chip.faults} ${chip.lockups}`,
  timer: ([micros]) => void (chip.firstMicros = +micros),
  memory: ([what, value]) => {
    if (what === 'slow') chip.memory.writeMicros = +value;
    else if (what === 'wear') chip.memory.worn.add(+value);
    else if (['absent', 'present', 'stuck'].includes(what)) chip.memory.mode = what;
    else throw new Error(`the memory cannot be '${what}'`);
  },
  load: ([address, hex]) => void chip.memory.cells.set(Buffer.from(hex, 'hex'), +address),
  dump: ([address, length]) => Buffer.from(chip.memory.cells.subarray(+address, +address + +length)).toString('hex'),
  cut: ([bytes, tear]) => {
    chip.cutAfter = +bytes;
    chip.tear = tear;
  },
  bus: () => `${chip.memory.bytes} ${chip.memory.refusals} ${Math.max(0, ...chip.memory.pageWrites.values())}`,
  mark: ([name]) => mark(name, false),
  period: ([name]) => mark(name, true),
  cycles: ([name]) => {
    const tally = counted.get(name);
    if (!tally) throw new Error(`'${name}' is not marked`);
    const told = `${tally.count} ${tally.largest}`;
    Object.assign(tally, { count: 0, largest: 0, since: null });
    return told;
  },
  poke: ([name, offset, hex]) => void chip.mcu.sram.set(Buffer.from(hex, 'hex'), inRam(name, +offset)),
  peek: ([name, offset, length]) => {
    const at = inRam(name, +offset);
    return Buffer.from(chip.mcu.sram.subarray(at, at + +length)).toString('hex');
  },
  exchange: ([hex]) => {
    chip.mcu.sram.set(Buffer.from(hex, 'hex'), task.at);
    // Off the mark first, or the run would end before it began.
    chip.cycles += chip.mcu.core.executeInstruction();
    chip.runUntil(chip.now() + 1e6);
    if (!chip.arrived) throw new Error('the task was not done within a second');
    return Buffer.from(chip.mcu.sram.subarray(task.outcome, task.outcome + 8)).toString('hex');
  },
  tasks: () => {
    task.at = inRam('TASK', 0);
    task.outcome = inRam('OUTCOME', 0);
    task.waits = addressOf(chip.elf, 'proof_waits');
    chip.marks.set(task.waits, () => (chip.arrived = true));
    chip.runUntil(chip.now() + 1e6);
  },
  lights: ([on]) => void (watchingLights = on === '1'),
  stack: () => String(chip.stackUsed()),
  sizes: () => {
    const { flash, ram } = chip.sizes();
    return `${flash} ${ram}`;
  },
};

function answer(request) {
  const [word, ...rest] = request.split(' ');
  if (!(word in requests)) return `error: no request called '${word}'`;
  try {
    return requests[word](rest) ?? 'ok';
  } catch (error) {
    return `error: ${error.message}`;
  }
}

const input = Buffer.alloc(65536);
let pending = '';
for (;;) {
  let length;
  try {
    length = fs.readSync(0, input);
  } catch (error) {
    if (error.code === 'EAGAIN') continue;
    throw error;
  }
  if (length === 0) break;
  pending += input.toString('latin1', 0, length);
  let end;
  let replies = '';
  while ((end = pending.indexOf('\n')) >= 0) {
    replies += answer(pending.slice(0, end)) + '\n';
    pending = pending.slice(end + 1);
  }
  if (replies) fs.writeSync(1, replies);
}
