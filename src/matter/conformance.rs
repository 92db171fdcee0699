//! The specification's conformance notation: what must, may and must not be there.

use serde::{Deserialize, Deserializer};
use std::fmt;

/// When an element is mandatory, optional or disallowed, in the specification's own notation.
///
/// `M` mandatory, `O` optional, `X` disallowed, `P` provisional, `D` deprecated; `LF & PA_LF` mandatory with these
/// features, `[LT]` optional with LT and otherwise disallowed; `A, B` the first that applies; `O.a+` at least one of
/// choice group a, `O.a` exactly one, `O.a-` at most one; `Rev >= v4` by revision; `desc` told in the text only.
/// Source: core§7.3.
#[derive(Clone, PartialEq)]
pub struct Conformance {
    text: String,
    items: Vec<Item>,
}

/// What a conformance says in given surroundings.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Requirement {
    /// Must be there.
    Mandatory,
    /// May be there.
    Optional,
    /// May be there, as one of a group.
    OneOf(Choice),
    /// Must not be there.
    Disallowed,
    /// Told in the specification's text only.
    Described,
}

/// A choice group.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Choice {
    /// The group's letter.
    pub group: char,
    /// Fewest of the group that must be there.
    pub fewest: u8,
    /// Most of the group that may be there; `None` for any number.
    pub most: Option<u8>,
}

/// A text that is no conformance.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("`{0}` is no conformance")]
pub struct ConformanceError(pub String);

#[derive(Clone, Debug, PartialEq)]
enum Item {
    Mandatory,
    Optional(Option<Choice>),
    Disallowed,
    Deprecated,
    Provisional,
    Described,
    MandatoryIf(Test),
    OptionalIf(Test, Option<Choice>),
}

#[derive(Clone, Debug, PartialEq)]
enum Test {
    Present(String),
    Above(String, i64),
    Equal(String, String),
    Revision(u16),
    Not(Box<Test>),
    All(Vec<Test>),
    Any(Vec<Test>),
}

impl Conformance {
    /// Reads the notation.
    ///
    /// # Errors
    /// A text that is not in it.
    pub fn parse(text: &str) -> Result<Self, ConformanceError> {
        let items = text.split(',').map(|item| read_item(item.trim())).collect::<Option<Vec<_>>>();
        let items = items.ok_or_else(|| ConformanceError(text.to_owned()))?;
        Ok(Self { text: text.to_owned(), items })
    }

    /// The notation.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// What it says where `present` tells which features, attributes and conditions there are, `number` the values
    /// of attributes that count, and `revision` the revision of the cluster or device type.
    pub fn requirement(
        &self,
        present: &dyn Fn(&str) -> bool,
        number: &dyn Fn(&str) -> Option<i64>,
        revision: u16,
    ) -> Requirement {
        for item in &self.items {
            let holds = |test: &Test| test.holds(present, number, revision);
            match item {
                Item::Mandatory => return Requirement::Mandatory,
                Item::Optional(choice) => return choice.map_or(Requirement::Optional, Requirement::OneOf),
                Item::Disallowed | Item::Deprecated => return Requirement::Disallowed,
                Item::Described => return Requirement::Described,
                Item::MandatoryIf(test) if holds(test) => return Requirement::Mandatory,
                Item::OptionalIf(test, choice) if holds(test) => {
                    return choice.map_or(Requirement::Optional, Requirement::OneOf);
                }
                Item::Provisional | Item::MandatoryIf(_) | Item::OptionalIf(..) => {}
            }
        }
        if self.items == [Item::Provisional] { Requirement::Optional } else { Requirement::Disallowed }
    }
}

impl Test {
    fn holds(
        &self,
        present: &dyn Fn(&str) -> bool,
        number: &dyn Fn(&str) -> Option<i64>,
        revision: u16,
    ) -> bool {
        let inner = |test: &Self| test.holds(present, number, revision);
        match self {
            Self::Present(name) => present(name),
            Self::Above(name, limit) => number(name).is_some_and(|value| value > *limit),
            // Compares fields of a command's answer, which nothing here is.
            Self::Equal(..) => false,
            Self::Revision(least) => revision >= *least,
            Self::Not(test) => !inner(test),
            Self::All(tests) => tests.iter().all(inner),
            Self::Any(tests) => tests.iter().any(inner),
        }
    }
}

fn read_item(text: &str) -> Option<Item> {
    let (body, choice) = match text.rsplit_once('.') {
        Some((body, choice)) => (body, Some(read_choice(choice)?)),
        None => (text, None),
    };
    Some(match (body, choice) {
        ("O", choice) => Item::Optional(choice),
        ("M", None) => Item::Mandatory,
        ("X", None) => Item::Disallowed,
        ("D", None) => Item::Deprecated,
        ("P", None) => Item::Provisional,
        ("desc", None) => Item::Described,
        _ => match body.strip_prefix('[').and_then(|rest| rest.strip_suffix(']')) {
            Some(inner) => Item::OptionalIf(read_test(inner)?, choice),
            None if choice.is_none() => Item::MandatoryIf(read_test(body)?),
            None => return None,
        },
    })
}

fn read_choice(text: &str) -> Option<Choice> {
    let mut letters = text.chars();
    let group = letters.next().filter(char::is_ascii_lowercase)?;
    let (fewest, most) = match letters.as_str() {
        "" => (1, Some(1)),
        "+" => (1, None),
        "-" => (0, Some(1)),
        _ => return None,
    };
    Some(Choice { group, fewest, most })
}

fn read_test(text: &str) -> Option<Test> {
    let mut words = Words { rest: text };
    let test = words.any()?;
    words.rest.trim().is_empty().then_some(test)
}

struct Words<'a> {
    rest: &'a str,
}

impl Words<'_> {
    fn eat(&mut self, sign: &str) -> bool {
        let Some(rest) = self.rest.trim_start().strip_prefix(sign) else { return false };
        self.rest = rest;
        true
    }

    fn word(&mut self) -> Option<String> {
        let rest = self.rest.trim_start();
        let end = rest.find(|c: char| !c.is_ascii_alphanumeric() && c != '_').unwrap_or(rest.len());
        let (word, rest) = rest.split_at_checked(end).filter(|(word, _)| !word.is_empty())?;
        self.rest = rest;
        Some(word.to_owned())
    }

    fn any(&mut self) -> Option<Test> {
        let mut tests = vec![self.all()?];
        while self.eat("|") {
            tests.push(self.all()?);
        }
        Some(if tests.len() == 1 { tests.swap_remove(0) } else { Test::Any(tests) })
    }

    fn all(&mut self) -> Option<Test> {
        let mut tests = vec![self.one()?];
        while self.eat("&") {
            tests.push(self.one()?);
        }
        Some(if tests.len() == 1 { tests.swap_remove(0) } else { Test::All(tests) })
    }

    fn one(&mut self) -> Option<Test> {
        if self.eat("!") {
            return Some(Test::Not(Box::new(self.one()?)));
        }
        if self.eat("(") {
            let test = self.any()?;
            return self.eat(")").then_some(test);
        }
        let name = self.word()?;
        if self.eat(">=") {
            let version = self.word()?;
            return (name == "Rev").then_some(Test::Revision(version.strip_prefix('v')?.parse().ok()?));
        }
        if self.eat("==") {
            return Some(Test::Equal(name, self.word()?));
        }
        if self.eat(">") {
            return Some(Test::Above(name, self.word()?.parse().ok()?));
        }
        Some(Test::Present(name))
    }
}

impl fmt::Debug for Conformance {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(&self.text)
    }
}

impl<'de> Deserialize<'de> for Conformance {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        let text = String::deserialize(from)?;
        Self::parse(&text).map_err(serde::de::Error::custom)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// `on` are the features, attributes and conditions that are there; `Count=2` gives a number.
    fn check(text: &str, on: &[&str], expected: Requirement) {
        let numbers: Vec<_> = on.iter().filter_map(|name| name.split_once('=')).collect();
        let number = |name: &str| numbers.iter().find(|(found, _)| *found == name)?.1.parse().ok();
        let read = Conformance::parse(text).expect(text);
        assert_eq!(read.requirement(&|name| on.contains(&name), &number, 4), expected, "{text} with {on:?}");
    }

    #[test]
    fn the_notation_means_what_the_specification_says() {
        use Requirement::{Described, Disallowed, Mandatory, OneOf, Optional};
        let one_or_more = OneOf(Choice { group: 'a', fewest: 1, most: None });
        check("M", &[], Mandatory);
        check("O", &[], Optional);
        check("X", &[], Disallowed);
        check("D", &[], Disallowed);
        check("P", &[], Optional);
        check("P, O", &[], Optional);
        check("P, M", &[], Mandatory);
        check("M, D", &[], Mandatory);
        check("desc", &[], Described);
        check("LF & PA_LF", &["LF"], Disallowed);
        check("LF & PA_LF", &["LF", "PA_LF"], Mandatory);
        check("LF & PA_LF, [LF]", &["LF"], Optional);
        check("[LT]", &[], Disallowed);
        check("[!(LT | DF)]", &["DF"], Disallowed);
        check("[!(LT | DF)]", &[], Optional);
        check("AUTO, O.a+", &["AUTO"], Mandatory);
        check("AUTO, O.a+", &[], one_or_more);
        check("[TP].a-", &["TP"], OneOf(Choice { group: 'a', fewest: 0, most: Some(1) }));
        check("[TP].a-", &[], Disallowed);
        check("Rev >= v4, O", &[], Mandatory);
        check("Rev >= v5, O", &[], Optional);
        check("NumberOfPrimaries > 1", &["NumberOfPrimaries=2"], Mandatory);
        check("NumberOfPrimaries > 1", &["NumberOfPrimaries=1"], Disallowed);
        check("[HoldTime & (PIR | !PIR & !US & !PHY)], D", &["HoldTime", "US"], Disallowed);
        check("[HoldTime & (PIR | !PIR & !US & !PHY)], D", &["HoldTime"], Optional);
        check("Status == Success", &[], Disallowed);
    }

    #[test]
    fn what_is_no_conformance_is_refused() {
        for text in ["", "[LT", "LT]", "LT &", "O.A", "M.a", "a b", "(LT", "Rev >= 4", ", M"] {
            assert_eq!(Conformance::parse(text), Err(ConformanceError(text.to_owned())));
        }
    }
}
