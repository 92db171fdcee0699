//! Conditions, datapoint types and the names in them.

use super::Compiler;
use crate::classes::blueprint::Guard;
use crate::classes::class::{Condition, End};
use crate::classes::problem::{Named, Problem};
use crate::classes::setting::SettingKind;
use crate::classes::template::{ConditionTemplate, Detail, Template};
use crate::knx::{DptId, dpt};
use crate::source::{Given, Place, Scalar, Spanned};

/// The names of the class's points, with the datapoint types that each address accepts.
#[derive(Default)]
pub(super) struct Points {
    there: Vec<Names>,
    /// Points of the class it is based on that this one has not.
    dropped: Vec<String>,
}

struct Names {
    name: String,
    command: Option<Vec<String>>,
    feedback: Option<Vec<String>>,
}

impl Points {
    pub(super) fn of(template: &Template) -> Self {
        let all = template.points.value().into_iter().flat_map(|points| points.sound());
        let there = all
            .map(|(name, point)| {
                let dpts = |end: &Given<crate::classes::template::EndTemplate>| {
                    end.value().map(|end| {
                        let dpts = end.dpts.value().map_or(&[][..], Vec::as_slice);
                        dpts.iter().map(|dpt| dpt.text.clone()).collect()
                    })
                };
                Names {
                    name: name.value.clone(),
                    command: dpts(&point.command),
                    feedback: dpts(&point.feedback),
                }
            })
            .collect();
        let dropped = template.without.value().into_iter().flatten().map(|name| name.value.clone());
        Self { there, dropped: dropped.collect() }
    }

    fn index(&self, name: &str) -> Option<u16> {
        self.there.iter().position(|point| point.name == name).and_then(|index| u16::try_from(index).ok())
    }

    fn is_dropped(&self, name: &str) -> bool {
        self.index(name).is_none() && self.dropped.iter().any(|dropped| dropped == name)
    }

    fn accepted(&self, index: u16, end: End) -> Option<&[String]> {
        let names = self.there.get(usize::from(index))?;
        match end {
            End::Command | End::Listens => names.command.as_deref(),
            End::Feedback => names.feedback.as_deref(),
        }
    }
}

impl Compiler {
    pub(super) fn guard(
        &mut self,
        when: &Given<Vec<Spanned<ConditionTemplate>>>,
        unless: &Given<Vec<Spanned<ConditionTemplate>>>,
    ) -> Guard {
        Guard { when: self.conditions(when), unless: self.conditions(unless) }
    }

    pub(super) fn conditions(&mut self, given: &Given<Vec<Spanned<ConditionTemplate>>>) -> Vec<Condition> {
        let all = given.value().map_or(&[][..], Vec::as_slice);
        all.iter().filter_map(|condition| self.condition(&condition.value, condition.place)).collect()
    }

    fn condition(&mut self, template: &ConditionTemplate, place: Place) -> Option<Condition> {
        match template {
            ConditionTemplate::Point(text) => self.point_condition(text, place),
            ConditionTemplate::Any(all) => {
                Some(Condition::Any(all.iter().filter_map(|one| self.condition(one, place)).collect()))
            }
            ConditionTemplate::Detail(detail) => self.detail(detail, place),
        }
    }

    fn point_condition(&mut self, text: &str, place: Place) -> Option<Condition> {
        let (name, end) = text.split_once('.').map_or((text, None), |(name, end)| (name, Some(end)));
        if self.points.is_dropped(name) {
            // What the base says of it never holds.
            return Some(Condition::Any(Vec::new()));
        }
        let index = self.point_index(name, place)?;
        let Some(end) = end else { return Some(Condition::Point(index)) };
        let known = [("command", End::Command), ("feedback", End::Feedback), ("listens", End::Listens)];
        let found = known.iter().find(|(word, _)| *word == end).map(|(_, end)| *end);
        let taken = found.filter(|end| self.points.accepted(index, *end).is_some());
        if taken.is_none() {
            self.problems.push(Problem::Unknown {
                place,
                what: Named::Point,
                name: text.to_owned(),
                within: name.to_owned(),
                known: known
                    .iter()
                    .filter(|(_, end)| self.points.accepted(index, *end).is_some())
                    .map(|(word, _)| format!("{name}.{word}"))
                    .collect(),
            });
        }
        taken.map(|end| Condition::Address(index, end))
    }

    fn detail(&mut self, detail: &Detail, place: Place) -> Option<Condition> {
        if let Some(name) = detail.setting.here() {
            let index = self.setting_index(name, name.place)?;
            let Some(word) = detail.is.here() else { return Some(Condition::Given(index)) };
            self.check_word(index, &word.text, word.place);
            return Some(Condition::Set(index, word.text.clone()));
        }
        let point = self.needed(&detail.point, "point", "condition", place)?;
        let written = self.needed(&detail.dpt, "dpt", "condition", place)?;
        let dpt = Spanned::new(written, detail.dpt.place().unwrap_or(place));
        let (index, end) = match self.point_condition(&point, detail.point.place().unwrap_or(place))? {
            Condition::Address(index, end) => (index, end),
            Condition::Any(never) => return Some(Condition::Any(never)),
            Condition::Point(_) | Condition::Typed(..) | Condition::Given(_) | Condition::Set(..) => {
                self.problems.push(Problem::Missing { place, key: "point", within: "condition" });
                return None;
            }
        };
        let id = self.dpt(&dpt.value, dpt.place)?;
        // Of a type that the class has narrowed away, what its base says never holds.
        Some(if self.is_accepted(index, &[end], id, dpt.place) {
            Condition::Typed(index, end, id)
        } else {
            Condition::Any(Vec::new())
        })
    }

    fn check_word(&mut self, index: u16, word: &str, place: Place) {
        let Some(setting) = self.settings.get(usize::from(index)) else { return };
        if setting.read(word).is_ok() {
            return;
        }
        let known = match &setting.kind {
            SettingKind::Choice { words } => words.iter().map(|(word, _)| word.clone()).collect(),
            SettingKind::Flag => vec!["true".to_owned(), "false".to_owned()],
            SettingKind::Number { .. } | SettingKind::Text { .. } => Vec::new(),
        };
        let (name, within) = (word.to_owned(), setting.name.clone());
        self.problems.push(Problem::Unknown { place, what: Named::Word, name, within, known });
    }

    /// Whether a datapoint type that a condition or a wire speaks of is one that one of these addresses accepts; told if not,
    /// unless the class that this one is based on speaks of it: it is narrowed away then.
    pub(super) fn is_accepted(&mut self, index: u16, ends: &[End], id: DptId, place: Place) -> bool {
        let known = ends.iter().filter_map(|end| self.points.accepted(index, *end)).flatten();
        let mut known: Vec<String> = known.cloned().collect();
        if known.contains(&id.to_string()) {
            return true;
        }
        if place.file != self.home.file {
            return false;
        }
        known.dedup();
        let within =
            self.points.there.get(usize::from(index)).map_or_else(String::new, |names| names.name.clone());
        let name = id.to_string();
        self.problems.push(Problem::Unknown { place, what: Named::Accepted, name, within, known });
        false
    }

    pub(super) fn accepts(&self, index: u16, end: End, id: DptId) -> bool {
        self.points.accepted(index, end).is_some_and(|known| known.contains(&id.to_string()))
    }

    pub(super) fn point_index(&mut self, name: &str, place: Place) -> Option<u16> {
        let index = self.points.index(name);
        if index.is_none() {
            let known = self.points.there.iter().map(|point| point.name.clone()).collect();
            let name = name.to_owned();
            self.problems.push(Problem::Unknown {
                place,
                what: Named::Point,
                name,
                within: String::new(),
                known,
            });
        }
        index
    }

    /// A datapoint type of the table.
    pub(super) fn dpt(&mut self, written: &Scalar, place: Place) -> Option<DptId> {
        let text = written.text.clone();
        match text.parse::<DptId>() {
            Ok(id) if dpt::find(id).is_some() => return Some(id),
            Ok(id) => self.problems.push(Problem::Unknown {
                place,
                what: Named::Dpt,
                name: text,
                within: String::new(),
                known: dpt::of_main(id.main).iter().map(|dpt| dpt.id.to_string()).collect(),
            }),
            Err(_) => self.problems.push(Problem::BadDpt { place, text }),
        }
        None
    }

    pub(super) fn dpts(&mut self, given: &Given<Vec<Spanned<Scalar>>>) -> Vec<(DptId, Place)> {
        let all = given.value().map_or(&[][..], Vec::as_slice);
        all.iter().filter_map(|one| Some((self.dpt(&one.value, one.place)?, one.place))).collect()
    }
}
