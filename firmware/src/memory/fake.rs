//! A scripted memory chip for tests: loses power between any two bytes.

use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};
use std::rc::Rc;

use embedded_hal::i2c::{
    ErrorKind, ErrorType, I2c, NoAcknowledgeSource, Operation, SevenBitAddress,
};
use embedded_hal_mock::eh1::delay::NoopDelay;

use super::{Memory, PAGE};

/// What becomes of the page that is being written when the power fails.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Tear {
    /// It holds what had arrived, and its old bytes after that.
    KeepsWhatArrived,
    /// It holds rubbish.
    GarblesThePage,
}

#[derive(Debug)]
struct State {
    cells: Vec<u8>,
    /// Bytes on the bus until the power fails, if it is going to.
    cut: Option<(usize, Tear)>,
    writes: BTreeMap<usize, usize>,
    worn: BTreeSet<usize>,
}

/// A 24C256 whose cells outlive the board's power.
#[derive(Debug, Clone)]
pub(crate) struct FakeChip(Rc<RefCell<State>>);

impl FakeChip {
    pub(crate) fn new() -> Self {
        Self(Rc::new(RefCell::new(State {
            cells: vec![0xff; 32_768],
            cut: None,
            writes: BTreeMap::new(),
            worn: BTreeSet::new(),
        })))
    }

    pub(crate) fn memory(&self) -> Memory<Self, NoopDelay> {
        Memory::new(self.clone(), NoopDelay)
    }

    /// The power fails after this many further bytes on the bus.
    pub(crate) fn cut_after(&self, bytes: usize, tear: Tear) {
        self.0.borrow_mut().cut = Some((bytes, tear));
    }

    pub(crate) fn restore(&self) {
        self.0.borrow_mut().cut = None;
    }

    pub(crate) fn flip(&self, address: u16, mask: u8) {
        self.0.borrow_mut().cells[usize::from(address)] ^= mask;
    }

    /// The cell keeps its value from now on.
    pub(crate) fn wear(&self, address: u16) {
        self.0.borrow_mut().worn.insert(address.into());
    }

    pub(crate) fn load(&self, address: u16, bytes: &[u8]) {
        let start = usize::from(address);
        self.0.borrow_mut().cells[start..start + bytes.len()].copy_from_slice(bytes);
    }

    pub(crate) fn most_writes_of_a_page(&self) -> usize {
        self.0.borrow().writes.values().copied().max().unwrap_or(0)
    }
}

impl ErrorType for FakeChip {
    type Error = ErrorKind;
}

impl State {
    /// Counts one byte on the bus.
    fn byte(&mut self) -> Result<(), ErrorKind> {
        match &mut self.cut {
            Some((0, _)) => Err(ErrorKind::NoAcknowledge(NoAcknowledgeSource::Address)),
            Some((left, _)) => {
                *left -= 1;
                Ok(())
            }
            None => Ok(()),
        }
    }
}

impl I2c for FakeChip {
    fn transaction(
        &mut self,
        _address: SevenBitAddress,
        operations: &mut [Operation<'_>],
    ) -> Result<(), ErrorKind> {
        let mut state = self.0.borrow_mut();
        state.byte()?;
        let mut at = 0;
        for operation in operations {
            match operation {
                Operation::Write(bytes) => {
                    let [high, low, data @ ..] = &bytes[..] else {
                        return Err(ErrorKind::Other);
                    };
                    at = usize::from(u16::from_be_bytes([*high, *low])) % 32_768;
                    state.byte()?;
                    state.byte()?;
                    let page = at / PAGE * PAGE;
                    if !data.is_empty() {
                        *state.writes.entry(page).or_default() += 1;
                    }
                    for &value in data.iter() {
                        if let Err(error) = state.byte() {
                            if matches!(state.cut, Some((_, Tear::GarblesThePage))) {
                                state.cells[page..page + PAGE].fill(0xa5);
                            }
                            return Err(error);
                        }
                        if !state.worn.contains(&at) {
                            state.cells[at] = value;
                        }
                        at = page + (at + 1) % PAGE;
                    }
                }
                // As the controller of the reference board answers.
                Operation::Read([]) => return Err(ErrorKind::Bus),
                Operation::Read(into) => {
                    for value in into.iter_mut() {
                        state.byte()?;
                        *value = state.cells[at];
                        at = (at + 1) % 32_768;
                    }
                }
            }
        }
        Ok(())
    }
}
