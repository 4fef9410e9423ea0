//! `holdfast reckon`: questions of chemistry and of the trade's arithmetic in, one JSON object a line; values out.
//!
//! A question is `{"id", "quantity", "inputs"}`, its answer `{"id", "value", "unit"}` or `{"id", "error"}`. Lines are read and
//! answered one by one, so that a million of them take no more memory than one.

mod forecast;
mod inputs;
mod trade;
mod water;

use std::io::{self, BufRead, Read, Write};

use serde_json::{Map, Value, json};

pub use inputs::Inputs;

/// A line longer than this is no question.
const LONGEST_LINE: u64 = 1 << 20;

/// One quantity that can be asked for.
pub struct Quantity {
    /// Its name.
    pub name: &'static str,
    /// The unit of its value, with the basis; empty where it has none.
    pub unit: &'static str,
    /// Its inputs; a name that ends with `?` may be left out.
    pub inputs: &'static [&'static str],
    /// What it is, and where the inputs need a word.
    pub about: &'static str,
    /// The value, or why there is none.
    reckon: fn(&Inputs) -> Result<Value, String>,
}

/// Every quantity, in the order in which they are listed.
pub fn quantities() -> impl Iterator<Item = &'static Quantity> {
    water::QUANTITIES.iter().chain(forecast::QUANTITIES).chain(trade::QUANTITIES)
}

/// Writes the quantities with their inputs, units and what they are.
///
/// # Errors
/// Where the output cannot be written.
pub fn list(mut output: impl Write) -> io::Result<()> {
    for quantity in quantities() {
        let unit = if quantity.unit.is_empty() { "-" } else { quantity.unit };
        writeln!(output, "{} ({unit}): {}", quantity.name, quantity.inputs.join(", "))?;
        writeln!(output, "    {}", quantity.about)?;
    }
    output.flush()
}

/// Answers questions line by line. A line that is no question gets an object with `error`, and the next is read.
///
/// # Errors
/// Only those of the input and output themselves.
pub fn run(mut input: impl BufRead, mut output: impl Write) -> io::Result<()> {
    let mut line = Vec::new();
    loop {
        line.clear();
        if (&mut input).take(LONGEST_LINE).read_until(b'\n', &mut line)? == 0 {
            return output.flush();
        }
        let whole = line.ends_with(b"\n") || (line.len() as u64) < LONGEST_LINE;
        if !whole {
            skip_line(&mut input)?;
        }
        let text = String::from_utf8_lossy(&line);
        let text = text.trim_start_matches('\u{feff}').trim();
        if text.is_empty() {
            continue;
        }
        let answer = if whole { answer(text) } else { json!({"error": "the line is longer than 1 MiB"}) };
        serde_json::to_writer(&mut output, &answer)?;
        writeln!(output)?;
    }
}

fn skip_line(input: &mut impl BufRead) -> io::Result<()> {
    loop {
        let buffer = input.fill_buf()?;
        if buffer.is_empty() {
            return Ok(());
        }
        let end = buffer.iter().position(|byte| *byte == b'\n');
        let (used, over) = end.map_or((buffer.len(), false), |at| (at + 1, true));
        input.consume(used);
        if over {
            return Ok(());
        }
    }
}

fn answer(text: &str) -> Value {
    let question: Map<String, Value> = match serde_json::from_str(text) {
        Ok(question) => question,
        Err(error) => return json!({"error": format!("no question: {error}")}),
    };
    let id = question.get("id").cloned();
    let mut answer = Map::new();
    if let Some(id) = id {
        answer.insert("id".into(), id);
    }
    match value(&question) {
        Ok((value, unit)) => {
            answer.insert("value".into(), value);
            answer.insert("unit".into(), unit.into());
        }
        Err(error) => {
            answer.insert("error".into(), error.into());
        }
    }
    Value::Object(answer)
}

fn value(question: &Map<String, Value>) -> Result<(Value, &'static str), String> {
    let name = question.get("quantity").ok_or("quantity: is missing")?;
    let name = name.as_str().ok_or_else(|| format!("quantity: {name} is no name"))?;
    let quantity = quantities()
        .find(|quantity| quantity.name == name)
        .ok_or_else(|| format!("quantity: \"{name}\" is not known; see holdfast reckon --list"))?;
    let nothing = Map::new();
    let given = match question.get("inputs") {
        Some(Value::Object(given)) => given,
        None => &nothing,
        Some(_) => return Err("inputs: must be an object".into()),
    };
    let inputs = Inputs::new(quantity.inputs, given)?;
    let value = (quantity.reckon)(&inputs)?;
    Ok((value, quantity.unit))
}
