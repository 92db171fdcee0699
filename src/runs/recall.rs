//! What the last build knows of identities and the ledger does not, so that no endpoint number is given twice.
//!
//! In: the folder of the last build, its manifest, and a house with its ledger. Out: the ledger as it must be, and what
//! there is to say of it. Where the ledger is as that build left it nothing else is read: then it knows all.

use super::unshown;
use crate::bridge::identifying;
use crate::emit::{self, Manifest, ManifestError};
use crate::findings::some;
use crate::ledger::{
    DeviceTypes, EndpointNumber, FILE_NAME, Identity, Ledger, Owner, Remembered, TOP_PART, UniqueId,
};
use crate::resolve::Plan;
use crate::resolve::plan::Appliance;
use crate::review::{ReadError, read_bridge_json};
use crate::source::Limits;
use rustc_hash::{FxHashMap, FxHashSet};
use std::path::Path;
use std::sync::Arc;

/// A ledger that knows all that the last build shows.
#[derive(Debug)]
pub(crate) struct Recalled {
    /// It.
    pub(crate) ledger: Ledger,
    /// What it had forgotten, or has otherwise.
    remembered: Vec<Remembered>,
    /// Bridges of which it does not know the highest number: key, the number it knows, the number that was given.
    numbers: Vec<(String, Option<EndpointNumber>, EndpointNumber)>,
    /// Identities that stand in the ledger under a key that nobody has, or whose appliance is another thing, and were built for
    /// one that somebody has: it, and the ledger's key.
    misfiled: Vec<(Owner, Identity, String)>,
}

/// Why a build cannot be asked.
#[derive(Debug, thiserror::Error)]
pub enum RecallError {
    /// A definition is not as it was built.
    #[error("{0}")]
    Changed(ManifestError),
    /// A definition cannot be read.
    #[error("`{name}` cannot be read: {cause}")]
    Unread {
        /// Name of its file.
        name: String,
        /// What is wrong with it.
        #[source]
        cause: ReadError,
    },
}

/// Something to say of a ledger that was not as the last build left it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Doubt {
    /// What is so.
    pub message: String,
    /// What to do.
    pub help: String,
}

/// Brings a ledger and the last build together. `as_read` are the bytes of the ledger's file, `plan` is what is described.
///
/// # Errors
/// [`RecallError`] where the ledger is another one than that build left and a definition of it cannot be read.
pub(crate) fn recall(
    out: &Path,
    last: &Manifest,
    (ledger, as_read): (&Ledger, &[u8]),
    plan: &Plan,
) -> Result<Recalled, RecallError> {
    let is_as_left = last.ledger.sha256 == emit::digest_source(as_read);
    let (mut ledger, remembered, misfiled) = if is_as_left {
        (ledger.clone(), Vec::new(), Vec::new())
    } else {
        let (built, described) = (identities(out)?, described(plan));
        let misfiled = misfiled(&built, ledger, &described);
        let (ledger, remembered) = ledger.remember(built, |owner, identity| {
            described.get(owner.key.as_str()).is_some_and(|its| its.fits(identity))
        });
        (ledger, remembered, misfiled)
    };
    let given = last.numbers.iter();
    let given = given.filter_map(|(bridge, given)| Some((bridge.as_str(), EndpointNumber::new(*given)?)));
    let numbers = ledger.given_up_to(given);
    Ok(Recalled { ledger, remembered, numbers, misfiled })
}

/// What an appliance is described as.
struct Described<'a> {
    /// Key of its bridge.
    bridge: &'a str,
    /// The device types of its parts; none where it is not shown to controllers.
    types: Vec<DeviceTypes>,
}

impl Described<'_> {
    fn fits(&self, identity: &Identity) -> bool {
        *identity.bridge == *self.bridge && self.types.contains(&identity.device_types)
    }
}

/// What each appliance is described as, by its key, and by a key that it had formerly and nobody has now.
fn described(plan: &Plan) -> FxHashMap<&str, Described<'_>> {
    let mut described: FxHashMap<&str, Described<'_>> = FxHashMap::default();
    let of = |appliance: &Appliance| {
        let shape = appliance.shape().ok().filter(|_| appliance.bridged);
        let parts = shape.into_iter().flat_map(|shape| &shape.parts);
        let types = parts.map(|part| identifying(part.device_types.iter().map(|it| it.id))).collect();
        let bridge = plan.bridges.get(appliance.bridge).map_or("", |bridge| bridge.key.value.as_str());
        Described { bridge, types }
    };
    for appliance in &plan.appliances {
        if let Some(formerly) = &appliance.formerly {
            described.insert(&formerly.value, of(appliance));
        }
    }
    described.extend(plan.appliances.iter().map(|it| (it.key.value.as_str(), of(it))));
    described
}

fn misfiled(
    built: &[(Owner, Identity)],
    ledger: &Ledger,
    described: &FxHashMap<&str, Described<'_>>,
) -> Vec<(Owner, Identity, String)> {
    let keys: FxHashMap<UniqueId, &str> =
        ledger.living().map(|(key, _, identity)| (identity.unique_id, key)).collect();
    let found = built.iter().filter_map(|(owner, identity)| {
        let key = *keys.get(&identity.unique_id)?;
        let its = described.get(owner.key.as_str()).filter(|_| key != owner.key)?;
        let is_misfiled = match described.get(key) {
            None => !ledger.lives(&owner.key),
            // It is no part of the appliance that it stands under.
            Some(other) => its.fits(identity) && !other.fits(identity),
        };
        is_misfiled.then(|| (owner.clone(), identity.clone(), key.to_owned()))
    });
    found.collect()
}

/// Whose the endpoints of a build are, and those that it keeps for what is not shown; and what they are known by.
fn identities(out: &Path) -> Result<Vec<(Owner, Identity)>, RecallError> {
    let believed = emit::believed(out, Limits::default().file_bytes);
    let mut built: Vec<_> = unshown::identities(believed.unshown.as_deref().unwrap_or_default()).collect();
    for file in believed.definitions {
        let bytes = file.read().map_err(RecallError::Changed)?;
        let definition = read_bridge_json(&bytes)
            .map_err(|cause| RecallError::Unread { name: file.name.clone(), cause })?;
        let bridge: Arc<str> = Arc::from(definition.bridge.key.as_str());
        built.extend(definition.endpoints.iter().filter_map(|endpoint| {
            let (key, part) = endpoint.key.split_once('/').unwrap_or((&endpoint.key, TOP_PART));
            let identity = Identity {
                bridge: Arc::clone(&bridge),
                number: EndpointNumber::new(endpoint.number)?,
                device_types: identifying(endpoint.device_types.iter().map(|it| it.id)),
                unique_id: UniqueId::parse(&endpoint.unique_id)?,
            };
            Some((Owner { key: key.to_owned(), part: part.to_owned() }, identity))
        }));
    }
    Ok(built)
}

impl Recalled {
    /// Whether the build shows something that the ledger had forgotten.
    pub(crate) fn had_forgotten(&self) -> bool {
        self.remembered.iter().any(|it| it.instead.is_none())
    }

    /// What there is to say. `next` is the ledger as a build leaves it; none where it is not known.
    pub(crate) fn doubts(&self, out: &Path, next: Option<&Ledger>) -> Vec<Doubt> {
        let living: Option<FxHashSet<&Identity>> =
            next.map(|next| next.living().map(|(.., it)| it).collect());
        let lives = |it: &Remembered| living.as_ref().map(|living| living.contains(&it.identity));
        let forgotten = |fate: Option<bool>| -> Vec<&Remembered> {
            self.remembered.iter().filter(|it| it.instead.is_none() && lives(it) == fate).collect()
        };
        let forgotten = [Some(true), Some(false), None]
            .into_iter()
            .filter_map(|fate| of_forgotten(&forgotten(fate), out, fate));
        let numbers = self.numbers.iter().map(|(bridge, known, given)| {
            let known = known.map_or_else(|| "none".to_owned(), |known| format!("none above {known}"));
            Doubt {
                message: format!(
                    "`{FILE_NAME}` knows of `{bridge}` {known}, and the build in `{}` knows that endpoint {given} was given",
                    out.display()
                ),
                help: format!(
                    "{TAKE_BACK}; else a build notes the number below `retired:`, so that it is never given again: commit \
                     `{FILE_NAME}` after it"
                ),
            }
        });
        let misfiled = self.misfiled.iter().map(|(owner, identity, key)| Doubt {
            message: format!(
                "{} in `{}`, stands under `{key}` in `{FILE_NAME}`, and no appliance of that key has such an endpoint",
                endpoint(owner, identity),
                out.display()
            ),
            help: format!("{TAKE_BACK}: a build would retire it, and `{}` would lose its place", owner.key),
        });
        forgotten.chain(self.of_otherwise(out)).chain(numbers).chain(misfiled).collect()
    }

    /// That the build is numbered otherwise, told once for all that is.
    fn of_otherwise(&self, out: &Path) -> Option<Doubt> {
        let mut otherwise = self.remembered.iter().filter_map(|it| Some((it, it.instead.as_ref()?)));
        let (first, instead) = otherwise.next()?;
        let more = match otherwise.count() {
            0 => String::new(),
            1 => ", and 1 more is otherwise".to_owned(),
            more => format!(", and {more} more are otherwise"),
        };
        Some(Doubt {
            message: format!(
                "the build in `{}` is not numbered as `{FILE_NAME}` is: there `{}`{} has {}{more}",
                out.display(),
                first.owner.key,
                part_of(&first.owner),
                differing(instead, &first.identity)
            ),
            help: format!(
                "the ledger counts. If that build is of another branch, this is as it should be; if the gateways have that build, \
                 take the ledger that it was made with; if `{FILE_NAME}` was changed by hand, take it back from version control"
            ),
        })
    }
}

/// What to do with a ledger that lost something.
const TAKE_BACK: &str = "if it was changed by hand, take `ledger.yaml` back from version control";

/// That endpoints were forgotten, told once for all that have the same fate.
fn of_forgotten(all: &[&Remembered], out: &Path, lives: Option<bool>) -> Option<Doubt> {
    let (first, others) = all.split_first()?;
    let mut keys: Vec<String> = all.iter().map(|it| it.owner.key.clone()).collect();
    keys.sort_unstable();
    keys.dedup();
    let is_one = others.is_empty();
    let help = match lives {
        Some(true) if is_one => {
            format!("a build gives it back to `{}`: commit `{FILE_NAME}` after it", first.owner.key)
        }
        Some(true) => format!("a build gives them back: commit `{FILE_NAME}` after it"),
        Some(false) => {
            let (them, their) = if is_one { ("it", "its number is") } else { ("them", "their numbers are") };
            format!(
                "a build remembers {them} below `retired:`, and {their} never given again; commit `{FILE_NAME}` after it"
            )
        }
        None => {
            format!("mend the errors first; a build then remembers {}", if is_one { "it" } else { "them" })
        }
    };
    let (what, which) = if is_one {
        (endpoint(&first.owner, &first.identity), "it".to_owned())
    } else {
        (format!("{} endpoints", all.len()), format!("them: those of {}", some(&keys)))
    };
    let message =
        format!("`{FILE_NAME}` has forgotten {what}, and `{}` holds a build with {which}", out.display());
    Some(Doubt { message, help })
}

fn endpoint(owner: &Owner, identity: &Identity) -> String {
    format!("endpoint {} of `{}`, `{}`{}", identity.number, identity.bridge, owner.key, part_of(owner))
}

/// The part, where it is not the top one.
fn part_of(owner: &Owner) -> String {
    if owner.part == TOP_PART { String::new() } else { format!(" ({})", owner.part) }
}

/// What the build has, instead of what the ledger has.
fn differing(ledger: &Identity, build: &Identity) -> String {
    if ledger.bridge != build.bridge {
        return format!(
            "endpoint {} of `{}` instead of {} of `{}`",
            build.number, build.bridge, ledger.number, ledger.bridge
        );
    }
    let bridge = &build.bridge;
    if ledger.number != build.number {
        return format!("endpoint {} of `{bridge}` instead of {}", build.number, ledger.number);
    }
    let at = format!("at endpoint {} of `{bridge}`", build.number);
    if ledger.device_types != build.device_types {
        return format!("the device type {} instead of {} {at}", build.device_types, ledger.device_types);
    }
    format!("another unique id {at}")
}
