//! What the appliances of each class have on the bus: the generator's own plain list, not the tool's templates.

/// The trades that an address scheme tells apart.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Trade {
    /// Lamps of all kinds.
    Light,
    /// Switched outlets.
    Socket,
    /// Shutters and blinds.
    Shade,
    /// Room thermostats.
    Heat,
    /// Things that only report.
    Sensor,
}

/// One group object of an appliance.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Function {
    /// The point it belongs to, as a description writes it.
    pub(crate) point: &'static str,
    /// Whether it reports; otherwise it is written to.
    pub(crate) feedback: bool,
    /// Datapoint type.
    pub(crate) dpt: &'static str,
}

const fn command(point: &'static str, dpt: &'static str) -> Function {
    Function { point, feedback: false, dpt }
}

const fn feedback(point: &'static str, dpt: &'static str) -> Function {
    Function { point, feedback: true, dpt }
}

/// All functions. Schemes and words count in this list.
pub(crate) static FUNCTIONS: [Function; 26] = [
    command("switching", "1.001"), // 0: light
    feedback("switching", "1.001"),
    command("dimming", "3.007"),
    command("brightness", "5.001"),
    feedback("brightness", "5.001"),
    command("colour-temperature", "7.600"),
    feedback("colour-temperature", "7.600"),
    command("colour", "232.600"),
    feedback("colour", "232.600"),
    command("switching", "1.001"), // 9: socket
    feedback("switching", "1.001"),
    command("move", "1.008"), // 11: shade
    command("step-stop", "1.007"),
    command("position", "5.001"),
    feedback("position", "5.001"),
    command("slat", "5.001"),
    feedback("slat", "5.001"),
    command("setpoint", "9.001"), // 17: heat
    feedback("setpoint", "9.001"),
    command("mode", "20.102"),
    feedback("mode", "20.102"),
    feedback("temperature", "9.001"),
    feedback("temperature", "9.001"), // 22: sensor
    feedback("occupancy", "1.018"),
    feedback("contact", "1.019"),
    feedback("leak", "1.005"),
];

/// A class with its functions and how often it is met.
#[derive(Debug)]
pub(crate) struct Class {
    /// Name, as a description writes it.
    pub(crate) name: &'static str,
    /// Its trade.
    pub(crate) trade: Trade,
    /// Functions it always has.
    pub(crate) always: &'static [usize],
    /// Functions that three of four have.
    pub(crate) often: &'static [usize],
    /// Of a hundred appliances, about how many.
    pub(crate) share: usize,
    /// At most so many in a room.
    pub(crate) most: usize,
}

/// The classes. Words count in this list.
pub(crate) static CLASSES: [Class; 12] = [
    Class { name: "on-off-light", trade: Trade::Light, always: &[0, 1], often: &[], share: 23, most: 6 },
    Class {
        name: "dimmable-light",
        trade: Trade::Light,
        always: &[0, 1, 3, 4],
        often: &[2],
        share: 20,
        most: 5,
    },
    Class {
        name: "tunable-white-light",
        trade: Trade::Light,
        always: &[0, 1, 3, 4, 5, 6],
        often: &[2],
        share: 5,
        most: 2,
    },
    Class {
        name: "colour-light",
        trade: Trade::Light,
        always: &[0, 1, 3, 4, 7, 8],
        often: &[],
        share: 4,
        most: 2,
    },
    Class { name: "on-off-outlet", trade: Trade::Socket, always: &[9, 10], often: &[], share: 11, most: 4 },
    Class {
        name: "roller-shutter",
        trade: Trade::Shade,
        always: &[11, 12, 13, 14],
        often: &[],
        share: 9,
        most: 3,
    },
    Class {
        name: "venetian-blind",
        trade: Trade::Shade,
        always: &[11, 12, 13, 14, 15, 16],
        often: &[],
        share: 4,
        most: 2,
    },
    Class {
        name: "room-thermostat",
        trade: Trade::Heat,
        always: &[17, 18, 19, 20, 21],
        often: &[],
        share: 9,
        most: 1,
    },
    Class { name: "temperature-sensor", trade: Trade::Sensor, always: &[22], often: &[], share: 3, most: 1 },
    Class { name: "occupancy-sensor", trade: Trade::Sensor, always: &[23], often: &[], share: 5, most: 2 },
    Class { name: "contact-sensor", trade: Trade::Sensor, always: &[24], often: &[], share: 6, most: 3 },
    Class { name: "leak-sensor", trade: Trade::Sensor, always: &[25], often: &[], share: 2, most: 1 },
];
