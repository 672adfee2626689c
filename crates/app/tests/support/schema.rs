//! A validator for the part of JSON Schema that our schemas use; a word it does not know is refused.

use serde_json::Value;

/// Everything in `value` that the schema does not allow, each with its path.
pub fn faults(schema: &Value, value: &Value) -> Vec<String> {
    let mut faults = Vec::new();
    Validator { root: schema }.validate(schema, value, "", &mut faults);
    faults
}

struct Validator<'s> {
    root: &'s Value,
}

impl Validator<'_> {
    fn validate(&self, schema: &Value, value: &Value, path: &str, faults: &mut Vec<String>) {
        for (word, says) in schema.as_object().expect("a schema is an object") {
            let holds = match word.as_str() {
                "$schema" | "$defs" | "title" | "description" | "examples" | "properties" => true,
                "$ref" => {
                    self.validate(self.definition(says), value, path, faults);
                    true
                }
                "type" => is_of(value, says.as_str().expect("one type")),
                "const" => value == says,
                "enum" => says.as_array().expect("a list").contains(value),
                "anyOf" => self.any(says, value, path),
                "minimum" => value.as_f64().is_none_or(|v| v >= says.as_f64().expect("a number")),
                "maximum" => value.as_f64().is_none_or(|v| v <= says.as_f64().expect("a number")),
                "exclusiveMinimum" => value.as_f64().is_none_or(|v| v > says.as_f64().expect("a number")),
                "required" => {
                    says.as_array().expect("a list").iter().all(|k| value.get(k.as_str().unwrap()).is_some())
                }
                "additionalProperties" => {
                    assert_eq!(says, false, "only `false` is understood");
                    value.as_object().is_none_or(|o| o.keys().all(|k| schema["properties"].get(k).is_some()))
                }
                "items" => {
                    for (i, item) in value.as_array().into_iter().flatten().enumerate() {
                        self.validate(says, item, &format!("{path}/{i}"), faults);
                    }
                    true
                }
                unknown => panic!("the validator does not know `{unknown}`"),
            };
            if !holds {
                faults.push(format!(
                    "{path}: not as `{word}` says: {}",
                    value.to_string().chars().take(120).collect::<String>()
                ));
            }
        }
        for (key, of_key) in schema["properties"].as_object().into_iter().flatten() {
            if let Some(inner) = value.get(key) {
                self.validate(of_key, inner, &format!("{path}/{key}"), faults);
            }
        }
    }

    fn any(&self, branches: &Value, value: &Value, path: &str) -> bool {
        branches.as_array().expect("a list").iter().any(|branch| {
            let mut faults = Vec::new();
            self.validate(branch, value, path, &mut faults);
            faults.is_empty()
        })
    }

    fn definition(&self, reference: &Value) -> &Value {
        let name = reference.as_str().and_then(|r| r.strip_prefix("#/$defs/")).expect("a local definition");
        &self.root["$defs"][name]
    }
}

fn is_of(value: &Value, kind: &str) -> bool {
    match kind {
        "object" => value.is_object(),
        "array" => value.is_array(),
        "string" => value.is_string(),
        "number" => value.is_number(),
        "integer" => value.is_i64() || value.is_u64(),
        "boolean" => value.is_boolean(),
        "null" => value.is_null(),
        unknown => panic!("the validator does not know the type `{unknown}`"),
    }
}
