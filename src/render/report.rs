//! The findings as one page that can be sent to whoever helps: self-contained, without scripts, nothing fetched.
//!
//! The page is `templates/papers/report.html`; it is given plain values, which it escapes.

use super::excerpt::{Excerpt, excerpts, free, others, path, said};
use super::mask::Mask;
use crate::classes::ClassLibrary;
use crate::findings::{Finding, Findings, Severity, Summary};
use crate::resolve::Plan;
use crate::resolve::plan::{Appliance, Role, Wire};
use crate::review::forms::page::{Piece, pieces, written};
use crate::rules;
use crate::source::{FileKind, Sources};
use rustc_hash::FxHashMap;
use serde::Serialize;
use std::collections::BTreeMap;

/// What every report begins with, so that one can be known from other files.
pub const MARK: &str = "<!DOCTYPE html>\n<!-- A report of housewright check. -->\n";

/// More findings than this are not shown: a browser would take seconds for them.
const SHOWN: usize = 2000;
/// More places of one finding than this are not listed.
const LISTED: usize = 1000;

/// Whether the page shows the names of the house.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Names {
    /// As written.
    Shown,
    /// Every word of the house's own is a number.
    LeftOut,
}

/// What a report tells of.
#[derive(Clone, Copy, Debug)]
pub struct Report<'a> {
    /// What there is to say.
    pub findings: &'a Findings,
    /// The numbers of it.
    pub summary: &'a Summary,
    /// The files.
    pub sources: &'a Sources,
    /// What was understood of the house.
    pub plan: Option<&'a Plan>,
    /// The device classes.
    pub library: &'a ClassLibrary,
    /// The program's version.
    pub version: &'a str,
}

#[derive(Serialize)]
struct Page<'a> {
    house: Option<String>,
    summary: String,
    version: &'a str,
    left_out: bool,
    facts: Vec<(&'static str, String)>,
    counts: Vec<Count>,
    sections: Vec<Section>,
    more: usize,
    rules: Vec<RuleLine>,
}

#[derive(Serialize)]
struct Count {
    word: &'static str,
    count: usize,
}

#[derive(Serialize)]
struct Section {
    id: String,
    title: String,
    findings: Vec<Part>,
}

#[derive(Serialize)]
struct Part {
    severity: &'static str,
    rule: &'static str,
    message: Vec<Piece>,
    appliance: Option<String>,
    place: String,
    excerpts: Vec<Excerpt>,
    others: Vec<Excerpt>,
    others_more: usize,
    remarks: Vec<(&'static str, Vec<Piece>)>,
    wires: Vec<WireRow>,
}

#[derive(Serialize)]
struct WireRow {
    point: String,
    end: &'static str,
    address: String,
    dpt: String,
    row: String,
    table_dpt: String,
    flags: String,
}

#[derive(Serialize)]
struct RuleLine {
    name: &'static str,
    summary: Vec<Piece>,
    remedy: Vec<Piece>,
}

/// Where a finding stands on the page: the house first, then the rooms in their order, then the tables.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Group {
    House,
    Room(usize),
    Table,
}

/// Rooms and appliances by key.
struct Index<'a> {
    rooms: FxHashMap<&'a str, usize>,
    appliances: FxHashMap<&'a str, &'a Appliance>,
}

impl<'a> Index<'a> {
    fn of(plan: Option<&'a Plan>) -> Self {
        let rooms = plan.into_iter().flat_map(|plan| plan.rooms.iter().zip(0..));
        let appliances = plan.into_iter().flat_map(|plan| &plan.appliances);
        Self {
            rooms: rooms.map(|(room, index)| (room.key.value.as_str(), index)).collect(),
            appliances: appliances.map(|appliance| (appliance.key.value.as_str(), appliance)).collect(),
        }
    }

    fn appliance(&self, finding: &Finding) -> Option<&'a Appliance> {
        self.appliances.get(finding.appliance.as_deref()?).copied()
    }
}

impl Report<'_> {
    /// Writes the page.
    pub fn html(&self, names: Names) -> String {
        let mut mask = (names == Names::LeftOut).then(|| Mask::of(self.plan, self.sources, self.library));
        let page = self.page(&Index::of(self.plan), &mut mask);
        let body = written("report.html", include_str!("../../templates/papers/report.html"), page);
        format!("{MARK}{body}\n")
    }

    fn page(&self, index: &Index<'_>, mask: &mut Option<Mask>) -> Page<'_> {
        let mut groups: BTreeMap<Group, Vec<&Finding>> = BTreeMap::new();
        for finding in self.findings.iter().take(SHOWN) {
            groups.entry(self.group(finding, index)).or_default().push(finding);
        }
        let sections = groups
            .into_iter()
            .map(|(group, findings)| Section {
                id: match group {
                    Group::House => "house".to_owned(),
                    Group::Room(room) => format!("room-{}", room + 1),
                    Group::Table => "table".to_owned(),
                },
                title: self.title(group, mask),
                findings: findings.into_iter().map(|finding| self.part(finding, index, mask)).collect(),
            })
            .collect();
        let count =
            |severity: Severity| Count { word: severity.word(), count: self.findings.count(severity) };
        Page {
            house: self.plan.filter(|_| mask.is_none()).map(|plan| free(&plan.house.name, mask)),
            summary: self.summary.line(),
            version: self.version,
            left_out: mask.is_some(),
            facts: self.facts(),
            counts: [Severity::Error, Severity::Warning, Severity::Note].map(count).into(),
            sections,
            more: self.findings.len().saturating_sub(SHOWN),
            rules: self.rules(),
        }
    }

    fn group(&self, finding: &Finding, index: &Index<'_>) -> Group {
        let room = finding.room.as_deref().and_then(|key| index.rooms.get(key)).copied();
        match room.or_else(|| index.appliance(finding).map(|appliance| appliance.room)) {
            Some(room) => Group::Room(room),
            None if self.sources.kind(finding.primary.place.file) == FileKind::Table => Group::Table,
            None => Group::House,
        }
    }

    fn title(&self, group: Group, mask: &mut Option<Mask>) -> String {
        match group {
            Group::House => "The house as a whole".to_owned(),
            Group::Table => "The address table".to_owned(),
            Group::Room(index) => {
                let room = self.plan.and_then(|plan| plan.rooms.get(index));
                let Some(room) = room else { return format!("Room {}", index + 1) };
                let floor = room.floor.as_ref().map(|floor| format!(", {}", free(&floor.value, mask)));
                format!("{}{}", free(&room.name.value, mask), floor.unwrap_or_default())
            }
        }
    }

    fn part(&self, finding: &Finding, index: &Index<'_>, mask: &mut Option<Mask>) -> Part {
        let place = finding.primary.place;
        let at = self.sources.line_column(place.file, place.start);
        let remarks =
            [("Evidence", &finding.evidence), ("On site", &finding.on_site), ("Help", &finding.help)];
        Part {
            severity: finding.severity.word(),
            rule: finding.rule,
            message: pieces(&said(&finding.message, mask)),
            appliance: finding.appliance.as_deref().map(|key| free(key, mask)),
            place: format!("{}:{}:{}", path(self.sources, place, mask), at.line, at.column),
            excerpts: excerpts(finding, self.sources, mask),
            others: others(finding, LISTED, self.sources, mask),
            others_more: finding.others.len().saturating_sub(LISTED),
            remarks: remarks
                .into_iter()
                .filter_map(|(word, text)| Some((word, pieces(&said(text.as_deref()?, mask)))))
                .collect(),
            wires: index.appliance(finding).map(|appliance| self.wires(appliance, mask)).unwrap_or_default(),
        }
    }

    /// Every address of an appliance, with what the table says of it.
    fn wires(&self, appliance: &Appliance, mask: &mut Option<Mask>) -> Vec<WireRow> {
        let points = appliance.points.iter();
        let wires = points.flat_map(|point| point.wires().map(move |(role, wire)| (point, role, wire)));
        wires
            .map(|(point, role, wire)| self.wire(appliance, point.name(appliance), (role, wire), mask))
            .collect()
    }

    fn wire(
        &self,
        appliance: &Appliance,
        point: &str,
        (role, wire): (Role, &Wire),
        mask: &mut Option<Mask>,
    ) -> WireRow {
        let notation = self.plan.map(|plan| plan.house.notation).unwrap_or_default();
        let table = self.plan.and_then(|plan| plan.table(appliance.bus));
        let row = table.and_then(|table| table.row(wire.address.value));
        let text = |text: Option<String>| text.unwrap_or_default();
        WireRow {
            point: point.to_owned(),
            end: role.word(),
            address: wire.address.value.display(notation).to_string(),
            dpt: wire.dpt.id.to_string(),
            row: match row {
                Some(row) => free(row.name.value.trim(), mask),
                None if table.is_some() => "not in the table".to_owned(),
                None => "no table".to_owned(),
            },
            table_dpt: text(row.and_then(|row| Some(row.dpt.as_ref()?.value.to_string()))),
            flags: text(row.and_then(|row| Some(row.flags.as_ref()?.value.to_string()))),
        }
    }

    /// What a helper asks first.
    fn facts(&self) -> Vec<(&'static str, String)> {
        let mut facts = Vec::new();
        if let Some(plan) = self.plan {
            facts.push(("Notation of addresses", plan.house.notation.name().to_owned()));
            let tables = plan.buses.iter().filter_map(|bus| bus.table.as_ref());
            let rows: Vec<String> = tables.map(|table| table.rows.len().to_string()).collect();
            let rows = if rows.is_empty() { "no table".to_owned() } else { rows.join(", ") };
            facts.push(("Rows of the address table", rows));
            facts.push(("Rooms", plan.rooms.len().to_string()));
            facts.push(("Bridges", plan.bridges.len().to_string()));
        }
        facts.push(("Files", self.sources.files().count().to_string()));
        facts
    }

    /// The rules that found something.
    fn rules(&self) -> Vec<RuleLine> {
        let mut names: Vec<&str> = self.findings.iter().map(|finding| finding.rule).collect();
        names.sort_unstable();
        names.dedup();
        let cards = names.into_iter().filter_map(rules::find).map(|rule| &rule.card);
        cards
            .map(|card| RuleLine {
                name: card.name,
                summary: pieces(card.summary),
                remedy: pieces(card.remedy),
            })
            .collect()
    }
}
