//! The classes that a house can use.

use super::check;
use super::class::Class;
use super::compile::compile;
use super::meant::{is_all_of, meant, without_class};
use super::own;
use super::problem::Problem;
use super::shape::Chosen;
use super::template::Template;
use crate::source::{Document, FileId, Limits, Place, Sources, parse, read_tree};
use std::sync::{Arc, LazyLock, OnceLock};

/// The built-in templates by their file names, sorted.
pub(super) static FILES: &[(&str, &str)] =
    include!(concat!(env!("OUT_DIR"), "/embedded_templates_classes.rs"));

/// The built-in classes that were asked for so far.
static BUILT_IN: LazyLock<Box<[OnceLock<Arc<Class>>]>> =
    LazyLock::new(|| FILES.iter().map(|_| OnceLock::new()).collect());

/// The file that places in built-in templates point into: none of the house's.
pub(super) const NO_FILE: FileId = FileId(u32::MAX);

/// Built-in classes and the house's own.
#[derive(Clone, Debug, Default)]
pub struct ClassLibrary {
    /// By name.
    own: Vec<Arc<Class>>,
    /// Names of classes of the house that have a problem, sorted.
    broken: Vec<String>,
}

impl ClassLibrary {
    /// Only the built-in classes. Cheap: each is read when it is first asked for.
    pub fn built_in() -> Self {
        Self::default()
    }

    /// The built-in classes and those of the house's `classes/` folder, which are read and checked here.
    ///
    /// A class with a problem is left out.
    pub fn load(documents: &[Document], sources: &Sources) -> (Self, Vec<Problem>) {
        let (own, broken, problems) = own::load(documents, sources);
        (Self { own, broken }, problems)
    }

    /// What is wrong with what appliances of the house's own classes are built as: a class is looked at for a part of what
    /// it can become, and an appliance may be another.
    pub fn problems_of<'a>(&self, built: impl Iterator<Item = (&'a Class, Chosen)>) -> Vec<Problem> {
        let mut all: Vec<Vec<Chosen>> = vec![Vec::new(); self.own.len()];
        for (class, chosen) in built {
            let own = self.own.binary_search_by(|own| own.name.cmp(&class.name)).ok();
            if let Some(own) = own.and_then(|own| all.get_mut(own)) {
                own.push(chosen);
            }
        }
        let looks = self.own.iter().zip(&all).map(|(class, built)| {
            let mut told = check::check_built(class, built);
            let (home, base) = (class.blueprint.home, class.blueprint.base);
            told.iter_mut().for_each(|problem| problem.move_home(home.file, base));
            told
        });
        looks.flatten().collect()
    }

    /// The class of this name.
    pub fn get(&self, name: &str) -> Option<Arc<Class>> {
        let own = self.own.binary_search_by(|class| class.name.as_str().cmp(name)).ok();
        own.and_then(|index| self.own.get(index).cloned()).or_else(|| built_in(name))
    }

    /// The names of all classes, sorted.
    pub fn names(&self) -> Vec<&str> {
        let built_in = FILES.iter().filter_map(|(file, _)| class_name(file));
        let mut names: Vec<&str> = self.own.iter().map(|class| class.name.as_str()).chain(built_in).collect();
        names.sort_unstable();
        names.dedup();
        names
    }

    /// What is said of a thing that no class is for, if a name that there is not is that of one.
    pub fn without_class(&self, name: &str) -> Option<&'static str> {
        without_class(name, &self.names())
    }

    /// The classes that were probably meant by a name that none has, sorted; none where nobody can tell.
    pub fn meant(&self, written: &str) -> Vec<&str> {
        meant(written, &self.names())
    }

    /// Whether a class is called by all words of a name, and not by one of several alone.
    pub fn is_all_of(&self, written: &str, class: &str) -> bool {
        is_all_of(written, class)
    }

    /// The names of the points of all classes, sorted. Reads all classes.
    pub fn point_names(&self) -> Vec<String> {
        let classes = self.names().into_iter().filter_map(|class| self.get(class));
        let points = classes.flat_map(|class| {
            let names = class.points.iter().map(|point| point.name.clone());
            names.collect::<Vec<_>>()
        });
        let mut names: Vec<String> = points.collect();
        names.sort_unstable();
        names.dedup();
        names
    }

    /// Whether a class has a point of this name. Reads all classes.
    pub fn has_point(&self, name: &str) -> bool {
        let classes = self.names().into_iter().filter_map(|class| self.get(class));
        classes.into_iter().any(|class| class.point(name).is_some())
    }

    /// Whether the house has a file for this class that cannot be used.
    pub fn is_broken(&self, name: &str) -> bool {
        self.broken.binary_search_by(|broken| broken.as_str().cmp(name)).is_ok()
    }

    /// Whether the class is one of the house's own.
    pub fn is_own(&self, name: &str) -> bool {
        self.own.binary_search_by(|class| class.name.as_str().cmp(name)).is_ok()
    }
}

/// The name that a file gives to its class.
pub(super) fn class_name(file: &str) -> Option<&str> {
    file.strip_suffix(".yaml").filter(|name| !name.contains('/'))
}

pub(super) fn built_in_index(name: &str) -> Option<usize> {
    let wanted = format!("{name}.yaml");
    FILES.binary_search_by(|(file, _)| (*file).cmp(wanted.as_str())).ok()
}

/// A built-in class, read when it is first asked for. That it has no problem is a test's to say.
fn built_in(name: &str) -> Option<Arc<Class>> {
    let slot = BUILT_IN.get(built_in_index(name)?)?;
    Some(Arc::clone(slot.get_or_init(|| Arc::new(compile(&built_in_template(name, 0), at(0)).0))))
}

/// Everything wrong with a built-in class; places are in its own text. `None` for a class that there is not.
#[doc(hidden)]
pub fn built_in_problems(name: &str) -> Option<Vec<Problem>> {
    let (_, text) = FILES.get(built_in_index(name)?)?;
    let (template, mut problems) = read(text);
    let template = template.unwrap_or_default();
    let based_on = template.based_on.value().cloned();
    let merged = match based_on {
        Some(base) => template.over(built_in_template(&base, 1)),
        None => template,
    };
    let (class, told) = compile(&merged, at(0));
    problems.extend(told);
    if problems.is_empty() {
        problems.extend(check::check(&class, usize::MAX));
    }
    Some(problems)
}

/// Classes that are based on each other at most.
const ROUNDS: usize = 8;

/// A built-in template on top of those that it is based on.
pub(super) fn built_in_template(name: &str, round: usize) -> Template {
    let text = built_in_index(name).and_then(|index| FILES.get(index)).map_or("", |(_, text)| text);
    let template = read(text).0.unwrap_or_default();
    match template.based_on.value().cloned() {
        Some(base) if round < ROUNDS => template.over(built_in_template(&base, round + 1)),
        _ => template,
    }
}

fn read(text: &str) -> (Option<Template>, Vec<Problem>) {
    let (tree, told) = parse(text, NO_FILE, &Limits::default());
    let mut problems: Vec<_> = told.into_iter().map(Problem::Written).collect();
    let Some(tree) = tree else { return (None, problems) };
    let (template, told) = read_tree(&tree, NO_FILE, text);
    problems.extend(told.into_iter().map(Problem::Written));
    (template, problems)
}

fn at(byte: u32) -> Place {
    Place { file: NO_FILE, start: byte, end: byte }
}
