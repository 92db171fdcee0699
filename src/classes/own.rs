//! The classes of a house's own: their files in, checked classes out.

use super::blueprint::Steps;
use super::check;
use super::class::Class;
use super::compile::compile;
use super::library::{FILES, NO_FILE, built_in_index, built_in_template, class_name};
use super::problem::{Named, Problem};
use super::template::{PointTemplate, Template};
use crate::findings::{nearest, nearest_sorted};
use crate::sort;
use crate::source::{self, Counted, Document, FileKind, Given, Limits, Place, Sources, read_tree};
use rustc_hash::{FxHashMap, FxHashSet};
use std::sync::Arc;

/// Classes without a problem, by name; the names of those that have one, sorted; and the problems.
pub(super) fn load(
    documents: &[Document],
    sources: &Sources,
) -> (Vec<Arc<Class>>, Vec<String>, Vec<Problem>) {
    let files = own_files(documents, sources);
    let mut loader = Loader { files, ..Loader::default() };
    loader.names();
    let (mut own, mut broken) = (Vec::new(), Vec::new());
    for index in 0..loader.files.len() {
        let before = (loader.problems.len(), loader.inherited.len());
        let class = loader.class(index);
        match class {
            Some(class) if (loader.problems.len(), loader.inherited.len()) == before => {
                own.push(Arc::new(class));
            }
            Some(_) | None => broken.extend(loader.names_of(index)),
        }
        // A class with so many faults is none, and the first ones tell what it is.
        loader.problems.truncate(before.0 + Limits::PROBLEMS_PER_FILE);
    }
    loader.tell_inherited();
    sort::by(&mut own, |a, b| a.name.cmp(&b.name));
    broken.sort_unstable();
    (own, broken, loader.problems)
}

/// A class file of the house.
struct File {
    /// Its name without the ending.
    stem: String,
    /// `None` where it cannot be read.
    own: Option<Own>,
    problems: Vec<Problem>,
}

/// What a class file says.
struct Own {
    template: Template,
    /// The class's name, or the start of the file.
    home: Place,
}

/// The class files, each with its name without the ending.
fn own_files(documents: &[Document], sources: &Sources) -> Vec<File> {
    let classes = documents.iter().filter(|document| document.kind == FileKind::Class);
    classes
        .map(|document| {
            let stem = stem(sources.path(document.file)).to_owned();
            let Some(tree) = &document.tree else { return File { stem, own: None, problems: Vec::new() } };
            let text = sources.source(document.file);
            let (template, told) = read_tree::<Template>(tree, document.file, text);
            let problems = told.into_iter().map(Problem::Written).collect();
            let own = template.map(|template| Own {
                home: template.class.place().unwrap_or(Place { file: document.file, start: 0, end: 0 }),
                template,
            });
            File { stem, own, problems }
        })
        .collect()
}

fn stem(path: &str) -> &str {
    let file = path.rsplit('/').next().unwrap_or(path);
    file.strip_suffix(".yaml").or_else(|| file.strip_suffix(".yml")).unwrap_or(file)
}

#[derive(Default)]
struct Loader {
    files: Vec<File>,
    /// Classes of the house by name, each the first of its name.
    by_name: FxHashMap<String, usize>,
    /// What the classes of the house are called, sorted.
    called: Vec<String>,
    /// Files that say nothing, by their names without the ending.
    unread: FxHashSet<String>,
    /// Where the class that is being read names the one that it is based on.
    based_at: Option<Place>,
    /// Whether it was told that classes are based on too many.
    is_deep: bool,
    problems: Vec<Problem>,
    /// What shows in the file of a class of the house's that another one is based on, and where that one names it.
    inherited: Vec<(Problem, Place)>,
}

/// The first thing that a class has more of than it may.
fn beyond<const N: usize>(counts: [(Counted, usize, usize); N], place: Place) -> Option<Problem> {
    let (counted, _, limit) = counts.into_iter().find(|(_, count, limit)| count > limit)?;
    let (limit, path) = (limit as u64, None);
    Some(Problem::Written(source::Problem::TooMany { place, counted, limit, path }))
}

/// What a template has of points, settings and combinations, and may have.
fn in_template(template: &Template) -> [(Counted, usize, usize); 3] {
    let points = template.points.value().map_or(0, |points| points.0.len());
    let settings = template.settings.value().map_or(0, |settings| settings.0.len());
    let combinations = template.combinations.value().map_or(0, Vec::len);
    [
        (Counted::Points, points, Limits::POINTS_OF_A_CLASS),
        (Counted::Settings, settings, Limits::SETTINGS_OF_A_CLASS),
        (Counted::Combinations, combinations, Limits::COMBINATIONS_OF_A_CLASS),
    ]
}

/// What a class has of links and of values in its conversions, and may have.
fn in_class(class: &Class) -> [(Counted, usize, usize); 2] {
    let values = class.blueprint.chains().map(Steps::values).sum();
    [
        (Counted::Links, class.blueprint.links.len(), Limits::LINKS_OF_A_CLASS),
        (Counted::Values, values, Limits::VALUES_OF_A_CLASS),
    ]
}

impl Loader {
    /// Each file has its class's name, and each class a name of its own.
    fn names(&mut self) {
        let mut seen: FxHashMap<String, Place> = FxHashMap::default();
        for (index, File { stem, own, problems }) in self.files.iter_mut().enumerate() {
            let Some(own) = own else {
                self.unread.insert(stem.clone());
                continue;
            };
            self.called.extend(own.template.class.value().cloned());
            let Some(name) = own.template.class.here() else {
                if own.template.class.is_absent() {
                    problems.push(Problem::Missing { place: own.home, key: "class", within: "class" });
                }
                continue;
            };
            let (place, class) = (name.place, name.value.clone());
            if class != *stem {
                problems.push(Problem::FileName { place, class: class.clone(), file: stem.clone() });
            }
            let other = seen.get(&class).copied();
            if other.is_some() || built_in_index(&class).is_some() {
                problems.push(Problem::Taken { place, class, other });
            } else {
                self.by_name.insert(class.clone(), index);
                seen.insert(class, place);
            }
        }
        self.called.sort_unstable();
    }

    /// The names that a house may call the class of a file by: its own, and the file's.
    fn names_of(&self, index: usize) -> Vec<String> {
        let file = self.files.get(index);
        let own = file.and_then(|file| file.own.as_ref()?.template.class.value().cloned());
        file.map(|file| file.stem.clone()).into_iter().chain(own).collect()
    }

    fn class(&mut self, index: usize) -> Option<Class> {
        let File { own, problems, .. } = self.files.get(index)?;
        self.problems.extend(problems.iter().cloned());
        let own = own.as_ref()?;
        let (home, mut template) = (own.home, own.template.clone());
        let mut home_of_base = home;
        if template.based_on.is_absent() {
            self.strange_points(&mut template, &Template::default());
        }
        if let Some(base) = template.based_on.here() {
            home_of_base = base.place;
            self.based_at = Some(base.place);
            let round = vec![template.class.value().cloned().unwrap_or_default()];
            template = self.based_on(template, round)?;
        }
        if let Some(problem) = beyond(in_template(&template), home) {
            self.problems.push(problem);
            return None;
        }
        let (mut class, mut told) = compile(&template, home);
        class.blueprint.base = home_of_base;
        if let Some(problem) = beyond(in_class(&class), home) {
            self.problems.push(problem);
            return None;
        }
        if told.is_empty() && self.is_read(index) {
            told = check::check(&class, check::WORK / self.files.len().max(1));
        }
        for mut problem in told {
            let file = problem.place().file;
            if file == home.file || file == NO_FILE {
                problem.move_home(home.file, home_of_base);
                self.problems.push(problem);
            } else {
                self.inherited.push((problem, home_of_base));
            }
        }
        Some(class)
    }

    /// Whether all that a class says was read, and what those say that it is based on: of half of a class nothing is shown.
    fn is_read(&self, index: usize) -> bool {
        let mut next = self.files.get(index);
        for _ in 0..=Limits::BASES_OF_A_CLASS {
            let Some(file) = next else { return true };
            if file.problems.iter().any(|problem| matches!(problem, Problem::Written(_))) {
                return false;
            }
            let base = file.own.as_ref().and_then(|own| own.template.based_on.value());
            next = base.and_then(|base| self.files.get(*self.by_name.get(base)?));
        }
        false
    }

    /// What a class has from another is told there; if it does not show there, where the class names that one.
    fn tell_inherited(&mut self) {
        for (mut problem, home_of_base) in std::mem::take(&mut self.inherited) {
            if !self.problems.iter().any(|told| told.place() == problem.place()) {
                problem.move_home(home_of_base.file, home_of_base);
                self.problems.push(problem);
            }
        }
    }

    /// Points that a class drops must be points of the class that it is based on, and so must those of which it says no more
    /// than what differs.
    fn strange_points(&mut self, template: &mut Template, base: &Template) {
        let known: Vec<String> = base
            .points
            .value()
            .map_or_else(Vec::new, |points| points.0.iter().map(|(name, _)| name.value.clone()).collect());
        let dropped = template.without.value().into_iter().flatten();
        let mut strange: Vec<_> = dropped.filter(|name| !known.contains(&name.value)).cloned().collect();
        if let Given::Here(points) = &mut template.points {
            let is_slip = |name: &str, point: &PointTemplate| {
                point.says_what_differs()
                    && !known.iter().any(|known| known == name)
                    && nearest(name, known.iter().map(String::as_str)).is_some()
            };
            let slips = points.value.0.extract_if(.., |(name, point)| {
                point.value().is_some_and(|point| is_slip(&name.value, point))
            });
            strange.extend(slips.map(|(name, _)| name));
        }
        for name in strange {
            if !self.problems.iter().any(|problem| problem.place() == name.place) {
                self.problems.push(Problem::Unknown {
                    place: name.place,
                    what: Named::Point,
                    name: name.value,
                    within: String::new(),
                    known: known.clone(),
                });
            }
        }
    }

    /// A template on top of those that it is based on; `round` are the classes on the way.
    fn based_on(&mut self, mut template: Template, mut round: Vec<String>) -> Option<Template> {
        let Some(base) = template.based_on.here().cloned() else { return Some(template) };
        if let Some(start) = round.iter().position(|name| *name == base.value) {
            round.push(base.value.clone());
            let round = round.split_off(start);
            // Every class of the round comes here; it is one mistake.
            let known = |problem: &Problem| matches!(problem, Problem::Recursion { round: other, .. } if round.iter().all(|name| other.contains(name)));
            if !self.problems.iter().any(known) {
                self.problems.push(Problem::Recursion { place: base.place, round });
            }
            return None;
        }
        if round.len() > Limits::BASES_OF_A_CLASS {
            if !std::mem::replace(&mut self.is_deep, true) {
                let place = self.based_at.unwrap_or(base.place);
                let limit = Limits::BASES_OF_A_CLASS as u64;
                let (counted, path) = (Counted::Bases, None);
                self.problems.push(Problem::Written(source::Problem::TooMany {
                    place,
                    counted,
                    limit,
                    path,
                }));
            }
            return None;
        }
        let own = self.by_name.get(&base.value).and_then(|index| self.files.get(*index)?.own.as_ref());
        if own.is_none() && self.unread.contains(&base.value) {
            // Why there is none has been told.
            return None;
        }
        if let Some(own) = own {
            let below = own.template.clone();
            round.push(base.value);
            let below = self.based_on(below, round)?;
            self.strange_points(&mut template, &below);
            return Some(template.over(below));
        }
        if built_in_index(&base.value).is_some() {
            let below = built_in_template(&base.value, 0);
            self.strange_points(&mut template, &below);
            return Some(template.over(below));
        }
        let built_in = nearest(&base.value, FILES.iter().filter_map(|(file, _)| class_name(file)));
        let known = [built_in, nearest_sorted(&base.value, &self.called)];
        let known = known.into_iter().flatten().map(str::to_owned).collect();
        let (what, within) = (Named::Class, String::new());
        self.problems.push(Problem::Unknown { place: base.place, what, name: base.value, within, known });
        None
    }
}
