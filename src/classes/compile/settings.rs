//! `settings:` of a class file.

use super::Compiler;
use crate::classes::problem::{Named, Problem};
use crate::classes::setting::{SettingKind, SettingSpec, SettingValue};
use crate::classes::template::{SettingTemplate, SettingWord};
use crate::source::{Entries, Given, Place};

impl Compiler {
    pub(super) fn settings(&mut self, given: &Given<Entries<SettingTemplate>>) -> Vec<SettingSpec> {
        let mut settings = Vec::new();
        for (name, template) in given.value().into_iter().flat_map(Entries::sound) {
            match self.setting(&name.value, name.place, template) {
                Some(setting) => settings.push(setting),
                None => self.broken_settings.push(name.value.clone()),
            }
        }
        settings
    }

    fn setting(&mut self, name: &str, place: Place, template: &SettingTemplate) -> Option<SettingSpec> {
        let word = self.needed(&template.kind, "type", "setting", place)?;
        let description = self.text(&template.description, "description", "setting", place);
        let kind = match word {
            SettingWord::Number | SettingWord::Whole => SettingKind::Number {
                range: self.needed(&template.range, "range", "setting", place)?,
                whole: word == SettingWord::Whole,
            },
            SettingWord::Flag => SettingKind::Flag,
            SettingWord::Text => {
                SettingKind::Text { longest: self.needed(&template.longest, "longest", "setting", place)? }
            }
            SettingWord::Choice => {
                let words = self.needed(&template.words, "words", "setting", place)?;
                let words = words.sound().map(|(word, meaning)| (word.value.clone(), meaning.value.clone()));
                SettingKind::Choice { words: words.collect() }
            }
        };
        if let SettingKind::Number { range: [low, high], .. } = &kind
            && low > high
        {
            let place = template.range.place().unwrap_or(place);
            self.problems.push(Problem::EmptyRange { place, setting: name.to_owned() });
            return None;
        }
        let unit = template.unit.value().cloned().unwrap_or_default();
        let mut setting = SettingSpec { name: name.to_owned(), description, unit, kind, default: None };
        setting.default = self.default(&setting, template);
        Some(setting)
    }

    fn default(&mut self, setting: &SettingSpec, template: &SettingTemplate) -> Option<SettingValue> {
        let default = template.default.here()?;
        match setting.read(&default.text) {
            Ok(value) => Some(value),
            Err(fault) => {
                let (place, setting) = (default.place, setting.name.clone());
                self.problems.push(Problem::Default { place, setting, fault });
                None
            }
        }
    }

    /// The index of a setting, told if there is none.
    pub(super) fn setting_index(&mut self, name: &str, place: Place) -> Option<u16> {
        let index = self.settings.iter().position(|setting| setting.name == name);
        // One that could not be read has been told of.
        if index.is_none() && !self.broken_settings.iter().any(|broken| broken == name) {
            let known = self.settings.iter().map(|setting| setting.name.clone()).collect();
            let name = name.to_owned();
            self.problems.push(Problem::Unknown {
                place,
                what: Named::Setting,
                name,
                within: String::new(),
                known,
            });
        }
        index.and_then(|index| u16::try_from(index).ok())
    }
}
