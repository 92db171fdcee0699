//! The three operations of RFC 6902 that a review uses, by the standard's own words and nothing of ours.

use serde_json::Value;

/// Applies a patch. Panics where the standard has an error.
pub(crate) fn patched(mut document: Value, patch: &Value) -> Value {
    for operation in patch.as_array().expect("a patch is a list") {
        let path = operation["path"].as_str().expect("a path is text");
        let (parent, last) = path.rsplit_once('/').expect("no operation is on the whole document");
        let last = last.replace("~1", "/").replace("~0", "~");
        let parent = document.pointer_mut(parent).unwrap_or_else(|| panic!("no parent of {path}"));
        let value = operation.get("value").cloned();
        match (operation["op"].as_str(), parent) {
            (Some("add"), Value::Object(fields)) => {
                fields.insert(last, value.expect("an addition has a value"));
            }
            (Some("add"), Value::Array(list)) => {
                let at: usize = last.parse().expect("a position");
                assert!(at <= list.len(), "{path} is beyond the end");
                list.insert(at, value.expect("an addition has a value"));
            }
            (Some("replace"), Value::Object(fields)) => {
                let old = fields.get_mut(&last).unwrap_or_else(|| panic!("nothing at {path}"));
                *old = value.expect("a replacement has a value");
            }
            (Some("replace"), Value::Array(list)) => {
                let at: usize = last.parse().expect("a position");
                list[at] = value.expect("a replacement has a value");
            }
            (Some("remove"), Value::Object(fields)) => {
                fields.shift_remove(&last).unwrap_or_else(|| panic!("nothing at {path}"));
            }
            (Some("remove"), Value::Array(list)) => {
                let at: usize = last.parse().expect("a position");
                list.remove(at);
            }
            (other, _) => panic!("{other:?} at {path}"),
        }
    }
    document
}
