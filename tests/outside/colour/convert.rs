//! Runs conversions for the colour judge: a line of JSON `{"steps": …, "input": …}` in, a line with the result out.

use housewright::convert::{Chain, Value};
use std::io::{BufRead, Write};

#[derive(serde::Deserialize)]
struct Line {
    steps: Chain,
    input: serde_json::Value,
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut out = std::io::BufWriter::new(std::io::stdout().lock());
    for line in std::io::stdin().lock().lines() {
        let Line { steps, input } = serde_json::from_str(&line?)?;
        let result = steps.run(&Value::from_json(&input)?, &())?;
        writeln!(out, "{}", result.to_json())?;
    }
    Ok(out.flush()?)
}
