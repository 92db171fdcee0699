//! A proof as a table for people.

use super::measure::{CutOff, RoundTrip, Span, Tally};
use super::walk::Proof;
use std::fmt;

impl fmt::Display for Proof {
    /// The table: a line a figure, a column a way. Made for 80 columns; ends without a line break.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let ways = [(self.from_bus.as_ref(), "shown"), (self.to_bus.as_ref(), "written")];
        let ways: Vec<(&Tally, &str)> =
            ways.into_iter().filter_map(|(tally, done)| tally.map(|tally| (tally, done))).collect();
        let heads: Vec<String> = ways.iter().map(|(_, done)| format!("{} {done}", self.bus)).collect();
        write!(f, "{}", row("", &heads))?;
        let mut line = |title: &str, tell: &dyn Fn(&Tally) -> Option<String>| {
            let cells: Vec<Option<String>> = ways.iter().map(|(tally, _)| tell(tally)).collect();
            if cells.iter().all(Option::is_none) {
                return Ok(());
            }
            write!(
                f,
                "\n{}",
                row(title, &cells.into_iter().map(Option::unwrap_or_default).collect::<Vec<_>>())
            )
        };
        line("values looked at", &|tally| Some(of(tally.looked_at, tally.of)))?;
        line("without meaning", &|tally| some(tally.void))?;
        line("same as another", &|tally| some(tally.aliases))?;
        line("passed on", &|tally| Some(tally.passed.to_string()))?;
        line("not passed on", &|tally| some(tally.dropped))?;
        line("refused", &|tally| tally.refused.as_ref().map(|refused| refused.count.to_string()))?;
        line("reach", &|tally| Some(of(tally.reached, tally.reached_of)))?;
        line("come to the same", &|tally| some(tally.collisions.values))?;
        line("at most apart", &|tally| {
            tally.collisions.widest.map(|span| figure(span.width(), &tally.unit))
        })?;
        line("cut off below", &|tally| tally.below.map(|cut| cut_off(cut, &tally.unit)))?;
        line("cut off above", &|tally| tally.above.map(|cut| cut_off(cut, &tally.unit)))?;
        let ranges = ways.iter().flat_map(|(tally, _)| &tally.reach);
        for reach in ranges {
            let name = if reach.name.is_empty() { &self.bus } else { &reach.name };
            let whole = range(reach.whole, &reach.unit);
            let reached = reach.reached.map_or_else(|| "nothing".to_owned(), |span| range(span, &reach.unit));
            write!(f, "\n{name}: {reached} of {whole}")?;
        }
        trips(f, "shown and written back", &self.bus, &self.bus_and_back)?;
        trips(f, "written and shown again", &self.bus, &self.attribute_and_back)
    }
}

fn row(title: &str, cells: &[String]) -> String {
    let cells: String = cells.iter().map(|cell| format!("{cell:<30}")).collect();
    format!("{title:<20}{cells}").trim_end().to_owned()
}

fn trips(f: &mut fmt::Formatter<'_>, title: &str, bus: &str, trips: &[RoundTrip]) -> fmt::Result {
    for trip in trips {
        let name = if trip.name.is_empty() { bus } else { &trip.name };
        write!(f, "\n{name} {title}: {} exact", of(trip.all.exact, trip.all.returned))?;
        if trip.all.exact < trip.all.returned {
            let (worst, mean) =
                (figure(trip.all.worst, &trip.error_unit), figure(trip.all.mean, &trip.error_unit));
            let (from, to) = (figure(trip.all.worst_from, &trip.unit), figure(trip.all.worst_to, &trip.unit));
            write!(f, "\n  off by {worst} at most ({from} gives {to}), {mean} in the mean")?;
        }
    }
    Ok(())
}

fn some(count: u64) -> Option<String> {
    (count > 0).then(|| count.to_string())
}

fn of(part: u64, whole: u64) -> String {
    if whole == u64::MAX { format!("{part} of many") } else { format!("{part} of {whole}") }
}

fn cut_off(cut: CutOff, unit: &str) -> String {
    cut.values
        .map_or_else(|| cut.count.to_string(), |values| format!("{} ({})", cut.count, range(values, unit)))
}

fn range(span: Span, unit: &str) -> String {
    format!("{}..{}", short(span.from), figure(span.to, unit))
}

fn figure(number: f64, unit: &str) -> String {
    if unit.is_empty() { short(number) } else { format!("{} {unit}", short(number)) }
}

/// Five places that count, without zeros behind; large numbers by powers of ten.
fn short(number: f64) -> String {
    let rounded: f64 = format!("{number:.4e}").parse().unwrap_or(number);
    if rounded.abs() >= 1e7 { format!("{rounded:e}") } else { rounded.to_string() }
}
