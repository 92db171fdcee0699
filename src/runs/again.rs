//! A house looked at again and again: what is sound and has not changed since the last look is not read anew.
//!
//! The outcome is that of a look from the start, whatever changed: files are compared by their texts, and what is kept of a
//! file is only what depends on nothing else. All rules are asked anew, for a line of one room can change what is usual in
//! the house.

use crate::resolve::LastTables;
use crate::resolve::plan::AddressTable;
use crate::source::{self, Limits, LoadError, Sources};
use crate::{Inspection, house, inspect_since};
use std::path::Path;
use std::sync::Arc;

/// What the last look at a house has left; nothing before the first.
#[derive(Debug, Default)]
pub struct Last {
    sources: Sources,
    descriptions: house::Kept,
    tables: Vec<Arc<AddressTable>>,
}

/// A look at a house.
#[derive(Debug)]
pub struct Look {
    /// What was seen.
    pub inspection: Inspection,
    descriptions: house::Kept,
}

impl Last {
    /// Looks at a house, again or for the first time.
    ///
    /// # Errors
    /// As [`source::load`].
    pub fn look(&self, house: &Path, limits: &Limits) -> Result<Look, LoadError> {
        let sound = self.descriptions.files();
        let last = source::Last { sources: &self.sources, sound: &sound };
        let loaded = source::load_since(house, limits, Some(last))?;
        let (inspection, descriptions) = inspect_since(loaded, limits, Some(self));
        Ok(Look { inspection, descriptions })
    }

    /// How many files need not be read again where they do not change.
    pub fn files(&self) -> usize {
        self.descriptions.files().len() + self.tables.len()
    }

    pub(crate) fn descriptions(&self) -> &house::Kept {
        &self.descriptions
    }

    pub(crate) fn tables(&self) -> LastTables<'_> {
        LastTables { sources: &self.sources, tables: &self.tables }
    }
}

impl From<Look> for Last {
    /// Keeps what the next look need not read again, and gives up the rest.
    fn from(Look { inspection, descriptions }: Look) -> Self {
        let buses = inspection.judged.plan().into_iter().flat_map(|plan| &plan.buses);
        let tables = buses.filter_map(|bus| bus.table.clone()).collect();
        Self { sources: inspection.sources, descriptions, tables }
    }
}
