//! What the last build knows of identities and the ledger does not, so that no endpoint number is given twice.
//!
//! In: the folder of the last build, its manifest, and a house with its ledger. Out: the ledger as it must be, and what
//! there is to say of it. Where the ledger is as that build left it nothing else is read: then it knows all.

use crate::bridge::identifying;
use crate::emit::{self, Manifest, ManifestError};
use crate::ledger::{
    DeviceTypes, EndpointNumber, FILE_NAME, Identity, Ledger, Owner, Remembered, TOP_PART, UniqueId,
};
use crate::resolve::Plan;
use crate::review::{ReadError, read_bridge_json};
use rustc_hash::FxHashMap;
use std::path::Path;
use std::sync::Arc;

/// A ledger that knows all that the last build shows.
#[derive(Debug)]
pub(crate) struct Recalled {
    /// It.
    pub(crate) ledger: Ledger,
    /// What it had forgotten, or had otherwise.
    remembered: Vec<Remembered>,
    /// Bridges of which it does not know the highest number: key, the number it knows, the number that was given.
    numbers: Vec<(String, Option<EndpointNumber>, EndpointNumber)>,
    /// Identities that stand in the ledger under a key that nobody has, and were built for one that somebody has: it, and
    /// the ledger's key.
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
        let (ledger, remembered) = ledger.remember(built, |owner, types| {
            described.get(owner.key.as_str()).is_some_and(|its| its.contains(types))
        });
        (ledger, remembered, misfiled)
    };
    let highest = ledger.highest();
    let mut numbers = Vec::new();
    for (bridge, given) in &last.numbers {
        let Some(given) = EndpointNumber::new(*given) else { continue };
        let known = highest.get(bridge.as_str()).copied();
        if known.is_none_or(|known| known < given) {
            ledger.given_up_to(bridge, given);
            numbers.push((bridge.clone(), known, given));
        }
    }
    if is_as_left {
        // That was told when the build was made.
        numbers.clear();
    }
    Ok(Recalled { ledger, remembered, numbers, misfiled })
}

/// The device types of the parts of each appliance, by its key; none by a key that an appliance had formerly.
fn described(plan: &Plan) -> FxHashMap<&str, Vec<DeviceTypes>> {
    let mut described: FxHashMap<&str, Vec<DeviceTypes>> = FxHashMap::default();
    for appliance in &plan.appliances {
        let shape = appliance.shape().ok().filter(|_| appliance.bridged);
        let parts = shape.into_iter().flat_map(|shape| &shape.parts);
        let types = parts.map(|part| identifying(part.device_types.iter().map(|it| it.id))).collect();
        described.insert(&appliance.key.value, types);
        if let Some(formerly) = &appliance.formerly {
            described.entry(&formerly.value).or_default();
        }
    }
    described
}

fn misfiled(
    built: &[(Owner, Identity)],
    ledger: &Ledger,
    described: &FxHashMap<&str, Vec<DeviceTypes>>,
) -> Vec<(Owner, Identity, String)> {
    let keys: FxHashMap<UniqueId, &str> =
        ledger.living().map(|(key, _, identity)| (identity.unique_id, key)).collect();
    let found = built.iter().filter_map(|(owner, identity)| {
        let key = *keys.get(&identity.unique_id)?;
        let is_misfiled = key != owner.key
            && !described.contains_key(key)
            && described.contains_key(owner.key.as_str())
            && !ledger.lives(&owner.key);
        is_misfiled.then(|| (owner.clone(), identity.clone(), key.to_owned()))
    });
    found.collect()
}

/// Whose the endpoints of a build are, and what they are known by.
fn identities(out: &Path) -> Result<Vec<(Owner, Identity)>, RecallError> {
    let mut built = Vec::new();
    for file in emit::believed(out).definitions {
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
    /// What there is to say. `lives` says whether an appliance has the identity after a build.
    pub(crate) fn doubts(&self, out: &Path, lives: impl Fn(&Remembered) -> bool) -> Vec<Doubt> {
        let remembered = self.remembered.iter().map(|it| of_identity(it, out, lives(it)));
        let numbers = self.numbers.iter().map(|(bridge, known, given)| {
            let known = known.map_or_else(|| "none".to_owned(), |known| format!("none above {known}"));
            Doubt {
                message: format!(
                    "`{FILE_NAME}` knows of `{bridge}` {known}, and endpoint {given} was given: lines were taken out of it"
                ),
                help: format!("{TAKE_BACK}; until then no number up to {given} is given again from here"),
            }
        });
        let misfiled = self.misfiled.iter().map(|(owner, identity, key)| Doubt {
            message: format!(
                "{} in `{}`, stands under `{key}` in `{FILE_NAME}`, and no appliance has that key",
                endpoint(owner, identity),
                out.display()
            ),
            help: format!("{TAKE_BACK}: a build would retire it, and `{}` would lose its place", owner.key),
        });
        remembered.chain(numbers).chain(misfiled).collect()
    }
}

/// What to do with a ledger that lost something.
const TAKE_BACK: &str = "if it was changed by hand, take `ledger.yaml` back from version control";

fn of_identity(remembered: &Remembered, out: &Path, lives: bool) -> Doubt {
    let Remembered { owner, identity, was } = remembered;
    let (key, out) = (&owner.key, out.display());
    let what = endpoint(owner, identity);
    let message = match was {
        None => format!("`{FILE_NAME}` has forgotten {what}, and `{out}` holds a build with it"),
        Some(was) => {
            format!("{what} was changed in `{FILE_NAME}` by hand: `{out}` has {}", differing(was, identity))
        }
    };
    let help = match (was, lives) {
        (_, true) => format!("a build gives it back to `{key}`: commit `{FILE_NAME}` after it"),
        (None, false) => format!(
            "a build remembers it below `retired:`, and its number is never given again; commit `{FILE_NAME}` after it"
        ),
        (Some(_), false) => format!("a build retires it as it was built; commit `{FILE_NAME}` after it"),
    };
    Doubt { message, help }
}

fn endpoint(owner: &Owner, identity: &Identity) -> String {
    let part = if owner.part == TOP_PART { String::new() } else { format!(" ({})", owner.part) };
    format!("endpoint {} of `{}`, `{}`{part}", identity.number, identity.bridge, owner.key)
}

fn differing(was: &Identity, is: &Identity) -> String {
    let differs = [
        (was.number != is.number, format!("the number {} instead of {}", is.number, was.number)),
        (was.bridge != is.bridge, format!("the bridge `{}` instead of `{}`", is.bridge, was.bridge)),
        (
            was.device_types != is.device_types,
            format!("the device type {} instead of {}", is.device_types, was.device_types),
        ),
        (was.unique_id != is.unique_id, "another unique id".to_owned()),
    ];
    let told: Vec<String> =
        differs.into_iter().filter(|(differs, _)| *differs).map(|(_, text)| text).collect();
    told.join(" and ")
}
