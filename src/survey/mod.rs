//! What a plan shows of itself, computed once for all rules.
//!
//! In: a [`Plan`]. Out: a [`Survey`]: who uses which address, what distances the house keeps, what the names of its
//! tables say, and which wires break all that. Judges nothing: that is what rules are for. Linear in the points, but
//! for sorting.

mod alike;
mod answers;
mod appliances;
mod blocks;
mod bridges;
mod buses;
mod called;
mod crossed;
mod displaced;
mod elsewhere;
mod functions;
mod heard;
mod homes;
mod lacks;
mod left_over;
mod marks;
pub mod names;
mod numbers;
mod offsets;
mod owners;
mod places;
mod renamed;
mod said;
mod settle;
mod shifts;
mod stems;
mod strays;
mod suspects;
mod taught;
mod things;
mod tokens;
mod unused;
mod uses;
mod vocabulary;
mod weather;
mod wires;

use crate::knx::GroupAddress;
use crate::resolve::Plan;
use crate::resolve::plan::{Appliance, Role};
use rustc_hash::{FxHashMap, FxHashSet};
use std::borrow::Cow;
use std::sync::OnceLock;

pub use bridges::{OnOtherBridge, on_other_bridges};
pub use buses::AloneOnBus;
pub use crossed::Crossing;
pub use heard::Overheard;
pub use lacks::{Lack, Lacking};
pub use left_over::LeftOver;
pub use offsets::{Distance, Habit};
pub use said::Weather;
pub use shifts::{Scope, Shift};
pub use strays::{Astray, Stray};
pub use suspects::{Evidence, Slip, Suspect};
pub use things::{OtherThing, classes_called};
pub use uses::{Use, Uses};
pub use vocabulary::prepare;
pub use weather::OtherWeather;
pub use wires::{Function, Kind, Wired, Wires};

/// An address proposed for a wire must have at least these marks.
const LIKELY: f64 = 0.9;

/// What a plan shows of itself.
#[derive(Debug)]
pub struct Survey {
    /// Who uses an address, and for what.
    pub uses: Uses,
    /// Every command and feedback with what it is for.
    pub wires: Wires,
    /// Wires that break what the rest of the house keeps.
    pub suspects: Vec<Suspect>,
    /// Wires that slipped together: all lie one distance beside the rows that name them.
    pub shifts: Vec<Shift>,
    /// Ends that lie in each other's rows in several appliances.
    pub crossings: Vec<Crossing>,
    /// Alarms of wind on rows of rain, and the other way round.
    pub other_weather: Vec<OtherWeather>,
    /// Appliances that are called another thing than their class.
    pub other_things: Vec<OtherThing>,
    /// Appliances that stand in another room than their addresses say.
    pub strays: Vec<Stray>,
    /// Appliances that listen to another room's address.
    pub overheard: Vec<Overheard>,
    /// Rooms that name another bus than they are wired to, each with the one that was probably meant: indices in the
    /// plan. Nothing else is said of their addresses.
    pub misplaced: Vec<(usize, usize)>,
    /// The same of single appliances.
    pub misplaced_alone: Vec<AloneOnBus>,
    /// Pairs of rooms that have each other's names: indices in the plan.
    pub renamed: Vec<(usize, usize)>,
    learned: Learned,
    /// Appliances by their keys, once somebody asks.
    by_key: OnceLock<FxHashMap<String, u32>>,
    left_over: OnceLock<Vec<LeftOver>>,
    alike: OnceLock<alike::Alike>,
}

/// How a row is called: rows of the same words have the same.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Named {
    stem: Option<stems::Stem>,
    call: stems::Call,
}

impl Named {
    /// What the row is for, by a number of the survey's: rows with the same words for it have the same.
    pub fn function(self) -> usize {
        self.call.index()
    }
}

/// What was learned by counting.
#[derive(Debug)]
struct Learned {
    vocabulary: Cow<'static, vocabulary::Vocabulary>,
    tokens: tokens::Tokens,
    stems: stems::Stems,
    functions: functions::Functions,
    owners: owners::Owners,
    offsets: offsets::Offsets,
    homes: Vec<Option<homes::Home>>,
    /// For each wire whether its own row speaks against it.
    doubtful: Vec<bool>,
    speech: said::Speech,
}

impl Survey {
    /// Looks at a plan once.
    pub fn of(plan: &Plan) -> Self {
        let mut tokens = tokens::Tokens::default();
        let ((uses, wires), called) = rayon::join(
            || rayon::join(|| Uses::of(plan), || Wires::of(plan)),
            || called::Called::of(plan, &mut tokens),
        );
        let (mut learned, mut crossings) = Learned::of(plan, &wires, called, tokens);
        // What a whole house has exchanged is no habit to hold the rest to.
        let mended = crossed::mended(&wires, crossings.iter().filter(|crossing| crossing.is_habit));
        let counted = mended.as_ref().unwrap_or(&wires);
        let types = marks::Types::Taken;
        learned.doubtful =
            marks::doubtful(marks::Judge { plan, wires: counted, uses: &uses, learned: &learned, types });
        let judge = marks::Judge { plan, wires: counted, uses: &uses, learned: &learned, types };
        let said = elsewhere::rooms_said(judge);
        let (mut suspects, ((misplaced, misplaced_alone), mut shifts)) = rayon::join(
            || suspects::find(judge, &said),
            || {
                let buses = || (buses::misplaced(judge), buses::alone(judge));
                rayon::join(buses, || shifts::find(judge))
            },
        );
        let renamed = renamed::find(judge, &suspects);
        let other_names = renamed::rooms(&renamed);
        let of_these = |one: &Appliance| {
            other_names.contains(&one.room) || buses::is_among_both(&misplaced, &misplaced_alone, one)
        };
        let is_misplaced = |wire: u32| judge.appliance(wire).is_some_and(of_these);
        suspects.retain(|suspect| !is_misplaced(suspect.wire));
        shifts::leave_out(&mut shifts, is_misplaced);
        let slipped: FxHashSet<u32> =
            shifts.iter().flat_map(|shift| &shift.wires).map(|(wire, _)| *wire).collect();
        suspects.retain(|suspect| !suspect.wires().any(|wire| slipped.contains(&wire)));
        crossed::leave_out(&mut crossings, |wire| slipped.contains(&wire) || is_misplaced(wire));
        crossed::settle(&mut crossings, &mut suspects, &wires);
        let moved: FxHashSet<u32> = suspects.iter().flat_map(Suspect::told).chain(slipped).collect();
        let crossed = crossed::all_wires(&crossings);
        let is_told = |wire: u32| moved.contains(&wire) || is_misplaced(wire);
        let other_weather = || weather::find(judge, |wire| is_told(wire) || crossed.contains(&wire));
        let (other_weather, of_appliances) =
            rayon::join(other_weather, || appliances::Found::find(judge, &said, is_told));
        let appliances::Found { overheard, strays, other_things } = of_appliances;
        Self {
            uses,
            wires,
            suspects,
            shifts,
            crossings,
            other_weather,
            other_things,
            strays,
            overheard,
            misplaced,
            misplaced_alone,
            renamed,
            learned,
            by_key: OnceLock::new(),
            left_over: OnceLock::new(),
            alike: OnceLock::new(),
        }
    }

    /// Whether a use of an address is its appliance's own: not of a point in common, nor on a bus that was not meant.
    pub fn is_own(&self, plan: &Plan, used: Use) -> bool {
        let found = used.look_up(plan).filter(|_| !self.wires.is_shared(used));
        found
            .is_some_and(|(appliance, point, _)| !point.is_shared(appliance) && !self.is_misplaced(appliance))
    }

    /// Whether a use of an address is of an appliance or a room that names another bus than this one, and was probably meant to be on it.
    pub fn is_meant_for(&self, plan: &Plan, used: Use, bus: usize) -> bool {
        let appliance = plan.appliances.get(used.appliance as usize);
        let room = appliance.map(|appliance| appliance.room);
        let found = |room| self.misplaced.binary_search_by_key(&room, |(misplaced, _)| *misplaced).ok();
        let meant = room.and_then(found).and_then(|found| self.misplaced.get(found));
        let by_itself = appliance.and_then(|appliance| buses::alone_among(&self.misplaced_alone, appliance));
        meant.is_some_and(|(_, meant)| *meant == bus) || by_itself.is_some_and(|alone| alone.bus == bus)
    }

    /// The points that a word stands for, in the words of the trade and in the house's own.
    pub fn points_called(&self, word: &str) -> &[String] {
        let words = tokens::split(word);
        let [word] = words.as_slice() else { return &[] };
        self.learned.vocabulary.of(word).map_or(&[], |meaning| meaning.points.as_slice())
    }

    /// Whether an appliance or its room names another bus than it is wired to.
    pub fn is_misplaced(&self, appliance: &Appliance) -> bool {
        buses::is_among_both(&self.misplaced, &self.misplaced_alone, appliance)
    }

    fn judge<'a>(&'a self, plan: &'a Plan) -> marks::Judge<'a> {
        marks::Judge {
            plan,
            wires: &self.wires,
            uses: &self.uses,
            learned: &self.learned,
            types: marks::Types::Taken,
        }
    }

    /// The address that an end of an appliance's point should probably have, whatever it has now; none where the habits
    /// of the house and the names of its table do not say.
    ///
    /// `appliance` is an index in the plan, `point` one in the points of its class.
    pub fn proposal(&self, plan: &Plan, appliance: usize, point: u16, role: Role) -> Option<GroupAddress> {
        self.best(self.judge(plan), appliance, point, role)
    }

    /// The row that an end may have been meant to have: of another type it may be, if its telegrams are as long.
    pub fn alternative(&self, plan: &Plan, appliance: usize, point: u16, role: Role) -> Option<GroupAddress> {
        let judge = marks::Judge { types: marks::Types::AsLong, ..self.judge(plan) };
        self.best(judge, appliance, point, role)
    }

    fn best(
        &self,
        judge: marks::Judge<'_>,
        appliance: usize,
        point: u16,
        role: Role,
    ) -> Option<GroupAddress> {
        let plan = judge.plan;
        let wired = self.end(plan, appliance, point, role)?;
        let written = plan.appliances.get(appliance)?.points.iter().find(|own| own.spec == point);
        let but = written.and_then(|point| point.wire(role)).map(|wire| wire.address.value);
        let (address, mark) = judge.best(&wired, but)?;
        // What another end of the appliance has already is not missing here.
        let (_, own) = self.wires.of_appliance(appliance);
        let elsewhere = |other: &Wired| (other.point, other.role) != (wired.point, wired.role);
        let taken =
            own.iter().any(|other| elsewhere(other) && other.address == address && Some(address) != but);
        let likely = mark.total() >= LIKELY || judge.is_own_row(&wired, but, address, &mark);
        (likely && !taken && judge.can_be(&wired, address)).then_some(address)
    }

    /// Whether a wire, by its index in [`Wires::all`], can be given an address: its row is of a type that the point takes,
    /// and no status where the wire is a command.
    pub fn can_be(&self, plan: &Plan, wire: u32, address: GroupAddress) -> bool {
        let wired = self.wires.all.get(wire as usize);
        wired.is_none_or(|wired| self.judge(plan).can_be(wired, address))
    }

    /// How well the written address of an end serves it, and its row names the appliance; the higher the better.
    pub fn standing(&self, plan: &Plan, wired: &Wired) -> f64 {
        let learned = &self.learned;
        let stem = wired.row.and_then(|row| learned.stems.stem(wired.bus, row));
        let likeness = stem.map(|stem| {
            learned.owners.likeness(stem, wired.appliance as usize, &learned.stems, &learned.tokens)
        });
        self.judge(plan).mark(wired, wired.address, true).total() + likeness.unwrap_or(0.0)
    }

    /// Whether the row of an address has words of a status; none where it has no name.
    pub fn is_named_status(&self, plan: &Plan, bus: usize, address: GroupAddress) -> Option<bool> {
        let table = plan.table(bus)?;
        let row = table.by_address.get(address)?;
        let call = self.learned.stems.call(wires::narrow(bus), row)?;
        Some(self.learned.functions.is_status(call))
    }

    /// The appliance of a key: the first, where several have it.
    pub fn appliance<'a>(&self, plan: &'a Plan, key: &str) -> Option<&'a Appliance> {
        let by_key = self.by_key.get_or_init(|| {
            let keyed = plan.appliances.iter().enumerate().rev();
            keyed.map(|(index, appliance)| (appliance.key.value.clone(), wires::narrow(index))).collect()
        });
        plan.appliances.get(*by_key.get(key)? as usize)
    }

    /// Rows that name an appliance and that nothing uses, by appliance.
    pub fn left_over(&self, plan: &Plan) -> &[LeftOver] {
        self.left_over.get_or_init(|| left_over::find(self, plan))
    }

    /// How a row of a bus's table is called; none where it has no name.
    pub fn named(&self, bus: usize, row: usize) -> Option<Named> {
        let (bus, row) = (wires::narrow(bus), wires::narrow(row));
        let stems = &self.learned.stems;
        Some(Named { call: stems.call(bus, row)?, stem: stems.stem(bus, row) })
    }

    /// An end as a wire, wired or not.
    fn end(&self, plan: &Plan, appliance: usize, point: u16, role: Role) -> Option<Wired> {
        let owner = plan.appliances.get(appliance)?;
        let index = owner.points.iter().position(|own| own.spec == point);
        let place = index.map_or(u32::MAX, wires::narrow);
        let (_, own) = self.wires.of_appliance(appliance);
        if let Some(wired) = own.iter().find(|wired| wired.point == place && wired.role == role) {
            return Some(*wired);
        }
        let class = &owner.class.value;
        let name = class.points.get(usize::from(point))?.name.as_str();
        let kind = self.wires.kind_of(class.group, name, role).unwrap_or(Kind(u32::MAX));
        let known = own.first();
        Some(Wired {
            appliance: wires::narrow(appliance),
            point: place,
            role,
            kind,
            function: self.wires.function_named(name, role),
            class: known.map_or(u32::MAX, |known| known.class),
            bus: wires::narrow(owner.bus),
            address: known.map(|known| known.address).or_else(|| GroupAddress::new(1))?,
            row: None,
            shared: class.points.get(usize::from(point))?.shared,
        })
    }
}

impl Learned {
    /// With the ends that lie in each other's rows, whether or not that was counted.
    fn of(
        plan: &Plan,
        wires: &Wires,
        called: called::Called,
        mut tokens: tokens::Tokens,
    ) -> (Self, Vec<Crossing>) {
        let vocabulary = vocabulary::Vocabulary::with(&plan.words);
        let offsets = |wires: &Wires| offsets::Offsets::of(wires, plan.appliances.len(), plan.house.notation);
        let ((stems, mut functions, owners, (speech, crossings)), mut offsets_learned) = rayon::join(
            || {
                let stems = stems::Stems::of(plan, wires, &called, &mut tokens, &vocabulary);
                let (owners, (functions, speech)) = rayon::join(
                    || owners::Owners::of(called, wires, &stems, &tokens, &vocabulary),
                    || {
                        let functions = functions::Functions::of(wires, &stems, &tokens, &vocabulary);
                        let answers = answers::taught(wires, &stems, &tokens, &vocabulary);
                        (functions, said::Speech::of(wires, &tokens, &vocabulary, &answers))
                    },
                );
                let looking =
                    crossed::Looking { plan, wires, stems: &stems, owners: &owners, tokens: &tokens };
                let crossings = crossed::find(&looking, &speech);
                (stems, functions, owners, (speech, crossings))
            },
            || offsets(wires),
        );
        let habits = crossings.iter().filter(|crossing| crossing.is_habit);
        if let Some(mended) = crossed::mended(wires, habits) {
            functions = functions::Functions::of(&mended, &stems, &tokens, &vocabulary);
            offsets_learned = offsets(&mended);
        }
        let homes = homes::homes(plan, wires, &stems, &owners, &tokens);
        let (offsets, doubtful) = (offsets_learned, Vec::new());
        let learned = Self { vocabulary, tokens, stems, functions, owners, offsets, homes, doubtful, speech };
        (learned, crossings)
    }

    /// Whether a wire's own row speaks against it, by its index in [`Wires::all`].
    fn doubtful(&self, wire: usize) -> bool {
        self.doubtful.get(wire).copied().unwrap_or(false)
    }
}
