//! What pages for a browser have in common: the templates they are made of, and text with code in it.

use minijinja::value::Serde;
use minijinja::{Environment, UndefinedBehavior};
use serde::Serialize;

/// Text, or code between backticks.
#[derive(Clone, Debug, Serialize)]
pub(crate) struct Piece {
    pub(crate) code: bool,
    pub(crate) text: String,
}

/// Cuts text at pairs of backticks.
pub(crate) fn pieces(text: &str) -> Vec<Piece> {
    let parts: Vec<&str> = text.split('`').collect();
    if parts.len().is_multiple_of(2) {
        return vec![Piece { code: false, text: text.to_owned() }];
    }
    let piece = |(at, part): (usize, &&str)| Piece { code: at % 2 == 1, text: (*part).to_owned() };
    parts.iter().enumerate().map(piece).filter(|piece| !piece.text.is_empty()).collect()
}

/// A page from its embedded template and its values, which are escaped. The style of all pages is there to include.
pub(crate) fn written(name: &'static str, template: &'static str, values: impl Serialize) -> String {
    let mut environment = Environment::new();
    environment.set_undefined_behavior(UndefinedBehavior::Strict);
    environment
        .add_template("style.css", include_str!("../../../templates/papers/style.css"))
        .and_then(|()| environment.add_template(name, template))
        .and_then(|()| environment.get_template(name)?.render(Serde(values)))
        .expect(
            "the page is embedded and its values are of our types; tests write it with all that it can hold",
        )
}
