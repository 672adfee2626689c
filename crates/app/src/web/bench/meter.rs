//! A reading from the meter itself, where one that speaks is connected.

use super::super::form::SentJson;
use super::super::problem::Problem;
use super::super::site::Shared;
use axum::Json;
use axum::extract::State;
use serde::{Deserialize, Serialize};
use std::sync::PoisonError;
use std::time::Duration;
use voltwright_meter::{Address, Function, Meter, MeterError, Shown, Way};

/// A meter answers within this, or the hand and the keys are quicker.
const PATIENCE: Duration = Duration::from_secs(5);

/// What is to be measured.
#[derive(Deserialize)]
pub struct Asked {
    function: String,
}

/// What the meter says, or why it says nothing.
#[derive(Serialize)]
#[serde(untagged)]
pub enum Told {
    /// A value in ohms, volts or amperes; none for an open circuit.
    Value {
        /// The value.
        value: Option<f64>,
        /// What the meter calls itself.
        instrument: String,
    },
    /// Why there is none.
    Problem {
        /// For a person.
        problem: String,
    },
}

/// Asks the meter.
pub async fn meter(
    State(site): State<Shared>,
    SentJson(asked): SentJson<Asked>,
) -> Result<Json<Told>, Problem> {
    let Some((address, way)) = site.meter.clone() else {
        return Err(Problem::missing("meter that speaks"));
    };
    let function = match asked.function.as_str() {
        "ohms" => Function::Ohms,
        "volts" => Function::Volts,
        _ => Function::Amps,
    };
    let told = tokio::task::spawn_blocking(move || {
        let mut spoken = site.spoken.lock().unwrap_or_else(PoisonError::into_inner);
        measure(&mut spoken, &address, way, function)
    });
    let told = told.await;
    Ok(Json(told.map_err(|_| Problem::ours("the meter was not asked to the end"))?))
}

fn measure(spoken: &mut Option<Meter>, address: &Address, way: Way, function: Function) -> Told {
    match measured(spoken, address, way, function) {
        Ok((instrument, Shown::Value(value))) => Told::Value { value: Some(value), instrument },
        Ok((instrument, Shown::Open)) => Told::Value { value: None, instrument },
        Ok((instrument, Shown::Overload)) => Told::Problem {
            problem: format!(
                "{instrument} shows overload: the value is beyond its range. Set a larger range, or press High."
            ),
        },
        Err(why) => Told::Problem { problem: sentence(&why.to_string()) },
    }
}

fn measured(
    spoken: &mut Option<Meter>,
    address: &Address,
    way: Way,
    function: Function,
) -> Result<(String, Shown), MeterError> {
    let meter = match spoken {
        Some(meter) => meter,
        none => none.insert(Meter::open(address, PATIENCE)?),
    };
    Ok((meter.identify()?, meter.measure(function, way)?))
}

/// With a capital and a full stop.
fn sentence(words: &str) -> String {
    let mut letters = words.chars();
    let first = letters.next().map(|c| c.to_uppercase().collect::<String>()).unwrap_or_default();
    format!("{first}{}.", letters.as_str())
}
