//! Address schemes: where the addresses of an appliance lie. Five habits of the trade, the last one with none.

use super::random::Random;
use super::trade::{FUNCTIONS, Trade};

/// A habit of giving group addresses.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Scheme {
    /// Main group the function of a trade, middle group the floor, sub group a running number.
    ByTrade,
    /// Main group the floor (or a wing of it), middle group the trade, sub group a block for each function.
    ByFloor,
    /// Middle group a room, in it a block of ten sub numbers for each appliance.
    ByRoom,
    /// Two levels: main group the function, status a thousand above the command.
    TwoLevel,
    /// By trade at first, otherwise in the extension, in the order of the day in what was added later; with gaps.
    Irregular,
}

impl Scheme {
    /// All of them.
    pub(crate) const ALL: [Self; 5] =
        [Self::ByTrade, Self::ByFloor, Self::ByRoom, Self::TwoLevel, Self::Irregular];

    /// Its name on a command line.
    pub(crate) fn name(self) -> &'static str {
        match self {
            Self::ByTrade => "by-trade",
            Self::ByFloor => "by-floor",
            Self::ByRoom => "by-room",
            Self::TwoLevel => "two-level",
            Self::Irregular => "irregular",
        }
    }

    /// About how many appliances one bus takes.
    pub(crate) fn appliances_per_bus(self) -> usize {
        match self {
            Self::ByTrade => 1_700,
            Self::ByFloor | Self::ByRoom => 1_600,
            Self::TwoLevel => 1_550,
            Self::Irregular => 1_500,
        }
    }

    /// How this scheme writes an address.
    pub(crate) fn written(self, address: u16) -> String {
        let main = address >> 11;
        if self == Self::TwoLevel {
            format!("{main}/{}", address & 0x7FF)
        } else {
            format!("{main}/{}/{}", (address >> 8) & 7, address & 0xFF)
        }
    }
}

/// An address from its three groups; nothing where one of them is out of range.
fn three(main: usize, middle: usize, sub: usize) -> Option<u16> {
    (main < 32 && middle < 8 && sub < 256).then(|| u16::try_from(main << 11 | middle << 8 | sub).ok())?
}

/// Main group of each function in the two-level scheme.
const TWO_LEVEL_MAIN: [usize; 26] =
    [1, 1, 2, 3, 3, 4, 4, 5, 5, 6, 6, 7, 8, 9, 9, 10, 10, 11, 11, 12, 12, 13, 14, 15, 16, 17];
/// Place of each function in a block of ten.
const IN_BLOCK: [usize; 26] = [0, 3, 1, 2, 4, 5, 6, 7, 8, 0, 3, 0, 1, 2, 5, 3, 6, 0, 3, 1, 4, 5, 3, 3, 3, 3];
/// Middle group of each function in the first part of an irregular house.
const OLD_MIDDLE: [usize; 26] =
    [1, 4, 3, 2, 5, 1, 4, 2, 5, 1, 4, 0, 1, 2, 5, 3, 6, 1, 4, 2, 5, 3, 3, 0, 1, 2];
/// Middle group of each function in its extension.
const NEW_MIDDLE: [usize; 26] =
    [0, 1, 2, 3, 4, 0, 1, 2, 3, 0, 1, 0, 1, 2, 3, 4, 5, 0, 1, 2, 3, 4, 0, 1, 2, 3];

/// First function of the trade's own numbering and the size of a function's block in the by-floor scheme.
fn block(trade: Trade, function: usize) -> (usize, usize, usize) {
    match trade {
        Trade::Light if function < 5 => (1, 0, 50),
        Trade::Light => (2, 5, 50),
        Trade::Socket => (3, 9, 100),
        Trade::Shade => (4, 11, 40),
        Trade::Heat => (5, 17, 50),
        Trade::Sensor => (6, 22, 60),
    }
}

/// Main group of a trade in a zone of an irregular house, counted from the zone's first.
fn trade_main(trade: Trade, function: usize) -> usize {
    match trade {
        Trade::Light if function < 5 => 0,
        Trade::Light => 1,
        Trade::Socket => 2,
        Trade::Shade => 3,
        Trade::Heat => 4,
        Trade::Sensor => 5,
    }
}

/// Gives out the addresses of one bus.
#[derive(Clone, Debug)]
pub(crate) struct Allocator {
    scheme: Scheme,
    /// Rooms begin at round numbers.
    spacious: bool,
    /// Rooms that the bus will have, about.
    rooms: usize,
    room: usize,
    floor: usize,
    zone: usize,
    /// Next number by trade, and by floor where the scheme counts by floor.
    next: [[usize; 8]; 5],
    /// Next address of what is added in the order of the day.
    addition: usize,
    added: bool,
}

impl Allocator {
    /// A bus without addresses, for about so many appliances.
    pub(crate) fn new(scheme: Scheme, appliances: usize) -> Self {
        Self {
            scheme,
            spacious: appliances <= 600,
            rooms: appliances.div_ceil(9),
            room: 0,
            floor: 0,
            zone: 0,
            next: [[1; 8]; 5],
            addition: 25 << 11 | 1,
            added: false,
        }
    }

    /// Goes on to the next room.
    pub(crate) fn enter(&mut self, floor: usize, random: &mut Random) {
        self.room += 1;
        let moved = floor != self.floor;
        self.floor = floor;
        match self.scheme {
            Scheme::ByFloor => self.enter_wing(moved, [34, 80, 32, 47, 50]),
            Scheme::Irregular => self.enter_phase(random),
            Scheme::ByTrade | Scheme::ByRoom | Scheme::TwoLevel => {}
        }
        let step = match self.scheme {
            Scheme::ByRoom => 10,
            Scheme::Irregular if random.chance(50) => 1,
            _ if !self.spacious => 1,
            Scheme::TwoLevel => 10,
            Scheme::ByTrade | Scheme::ByFloor | Scheme::Irregular => 5,
        };
        for number in self.next.iter_mut().flatten() {
            *number = if *number <= 1 { 1 } else { number.next_multiple_of(step) };
        }
        if self.scheme == Scheme::ByRoom {
            self.next = [[0; 8]; 5];
        }
    }

    /// A new wing when the floor changes or a trade might run out of numbers in the next room.
    fn enter_wing(&mut self, moved: bool, limits: [usize; 5]) {
        let full =
            self.next.iter().zip(limits).any(|(numbers, limit)| numbers.iter().any(|&number| number > limit));
        if (moved && self.room > 1) || full {
            self.zone += 1;
            self.next = [[1; 8]; 5];
        }
    }

    /// The extension begins after two thirds of the rooms; one room of eight was added later.
    fn enter_phase(&mut self, random: &mut Random) {
        let extension = self.zone == 0 && self.room * 3 > self.rooms * 2;
        let full = self.next.iter().flatten().any(|&number| number > 232);
        if extension || full {
            self.zone += 1;
            self.next = [[1; 8]; 5];
        }
        self.added = self.room > 3 && random.chance(12);
    }

    /// The addresses of one appliance, one for each function; nothing when the bus is full.
    pub(crate) fn place(
        &mut self,
        trade: Trade,
        functions: &[usize],
        random: &mut Random,
    ) -> Option<Vec<u16>> {
        if self.scheme == Scheme::Irregular && self.added {
            return self.place_in_order(functions);
        }
        let row = match (self.scheme, trade) {
            (Scheme::ByRoom, _) | (_, Trade::Light) => 0,
            (_, Trade::Socket) => 1,
            (_, Trade::Shade) => 2,
            (_, Trade::Heat) => 3,
            (_, Trade::Sensor) => 4,
        };
        let column = if self.scheme == Scheme::ByTrade { self.floor } else { 0 };
        let gap =
            if self.scheme == Scheme::Irregular && random.chance(12) { random.between(1, 2) } else { 0 };
        let next = self.next.get_mut(row)?.get_mut(column)?;
        let number = *next + gap;
        *next = number + if self.scheme == Scheme::ByRoom { 10 } else { 1 };
        functions.iter().map(|&function| self.address(trade, function, number)).collect()
    }

    /// Command first, then its status, as they were clicked together.
    fn place_in_order(&mut self, functions: &[usize]) -> Option<Vec<u16>> {
        functions
            .iter()
            .map(|_| {
                let address = u16::try_from(self.addition).ok().filter(|address| address >> 11 < 31)?;
                self.addition += 1;
                Some(address)
            })
            .collect()
    }

    fn address(&self, trade: Trade, function: usize, number: usize) -> Option<u16> {
        match self.scheme {
            Scheme::ByTrade => three(1 + function, self.floor, number),
            Scheme::ByFloor => {
                let (middle, first, size) = block(trade, function);
                let main = (self.zone < 30 && number < size).then_some(1 + self.zone)?;
                three(main, middle, (function - first) * size + number)
            }
            Scheme::ByRoom => {
                let room = self.room.checked_sub(1).filter(|room| *room < 240)?;
                three(1 + room / 8, room % 8, number + IN_BLOCK.get(function)?)
            }
            Scheme::TwoLevel => {
                let status = if FUNCTIONS.get(function)?.feedback { 1000 } else { 0 };
                let sub = (number < 1000).then_some(number + status)?;
                three(*TWO_LEVEL_MAIN.get(function)?, sub >> 8, sub & 0xFF)
            }
            Scheme::Irregular => {
                let middle = if self.zone.is_multiple_of(2) { OLD_MIDDLE } else { NEW_MIDDLE };
                let main = (self.zone < 4).then_some(1 + 6 * self.zone + trade_main(trade, function))?;
                three(main, *middle.get(function)?, number)
            }
        }
    }

    /// A central function: 0 all lights, 1 the lights of a floor, 2 all shades, 3 the heating mode.
    pub(crate) fn central(scheme: Scheme, kind: usize, floor: usize) -> u16 {
        let number = match (scheme, kind) {
            (_, 0) => 1,
            (_, 1) => 10 + floor,
            (Scheme::TwoLevel, 2) => 101,
            (Scheme::TwoLevel, _) => 201,
            (_, 2) => 256 + 1,
            (_, _) => 512 + 1,
        };
        u16::try_from(number).unwrap_or(1)
    }

    /// The technical address of this number.
    pub(crate) fn technical(number: u16) -> u16 {
        31 << 11 | (1 + number)
    }
}
