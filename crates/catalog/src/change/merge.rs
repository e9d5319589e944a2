//! The merge rule: what the changes held of one row add up to.
//!
//! A field holds every value that no held change replaces. The one with the latest stamp shows; the others, where they
//! differ, are conflicts for a person to settle. What comes out depends on the set of changes alone, not on the order
//! in which they came or how often, so merging is commutative, associative and idempotent.
//!
//! Two devices that import one sheet create the same rows. An edit that replaces one creation's value therefore
//! replaces the equal value of every other creation too; a creation that says something else stands as a conflict.
//! What a stamp means where a device was copied, [`super::branch`] says.

use super::branch::means;
use super::{Act, Change, Stamp};
use crate::value::Value;
use std::collections::BTreeMap;

/// A value that stands.
#[derive(Clone, Debug, PartialEq)]
pub struct Live {
    /// Where it comes from.
    pub stamp: Stamp,
    /// The value.
    pub value: Value,
}

/// What the changes of one row add up to. Deletes are not in it; see [`super::branch::covered`].
#[derive(Clone, Debug, Default, PartialEq)]
pub struct RowState {
    /// The earliest creation; none where only edits are held so far.
    pub born: Option<Stamp>,
    /// The values that stand, per field, latest first.
    pub fields: BTreeMap<u16, Vec<Live>>,
}

#[derive(Default)]
struct Said<'a> {
    created: BTreeMap<Stamp, &'a Value>,
    edited: BTreeMap<Stamp, (&'a Value, &'a [Stamp])>,
}

/// Adds up changes of one row, each with its stamp, in any order and however often.
pub fn merge<'a>(changes: impl IntoIterator<Item = (Stamp, &'a Change)>) -> RowState {
    let mut state = RowState::default();
    let mut said: BTreeMap<u16, Said<'a>> = BTreeMap::new();
    for (stamp, change) in changes {
        match &change.act {
            Act::Create(fields) => {
                state.born = Some(state.born.map_or(stamp, |born| born.min(stamp)));
                for (field, value) in fields.iter().filter(|(_, value)| *value != Value::Null) {
                    said.entry(*field).or_default().created.insert(stamp, value);
                }
            }
            Act::Edit(edits) => {
                for edit in edits {
                    let field = said.entry(edit.field).or_default();
                    field.edited.insert(stamp, (&edit.value, &edit.replaces));
                }
            }
            Act::Delete(_) | Act::Strange(_) => {}
        }
    }
    state.fields = said.into_iter().map(|(field, said)| (field, said.standing())).collect();
    state
}

impl Said<'_> {
    fn standing(&self) -> Vec<Live> {
        let all = self.created.keys().chain(self.edited.keys());
        let replaced = |stamp: &Stamp| {
            self.edited
                .iter()
                .any(|(by, (_, replaces))| by != stamp && means(replaces, *by, *stamp, all.clone()))
        };
        let gone: Vec<&Value> =
            self.created.iter().filter(|(stamp, _)| replaced(stamp)).map(|(_, v)| *v).collect();
        let mut live: Vec<Live> = Vec::new();
        for (stamp, value) in &self.created {
            if !gone.iter().any(|v| same(v, value)) && !live.iter().any(|held| same(&held.value, value)) {
                live.push(Live { stamp: *stamp, value: (*value).clone() });
            }
        }
        for (stamp, (value, _)) in &self.edited {
            if !replaced(stamp) {
                live.push(Live { stamp: *stamp, value: (*value).clone() });
            }
        }
        live.sort_by_key(|held| std::cmp::Reverse(held.stamp));
        live
    }
}

/// Whether two values say the same, so that they are no conflict.
///
/// Quantities are the same when their SI values and what is said of them are; `277.9` and `277.90` are.
pub fn same(a: &Value, b: &Value) -> bool {
    match (a, b) {
        (Value::Quantity(a), Value::Quantity(b)) => {
            let details = |q: &crate::Quantity| q.written.as_ref().and_then(|w| w.details.clone());
            a.si.to_bits() == b.si.to_bits() && details(a) == details(b)
        }
        (Value::Price(a), Value::Price(b)) => {
            a.amount.to_bits() == b.amount.to_bits() && a.currency == b.currency
        }
        (Value::Real(a), Value::Real(b)) => a.to_bits() == b.to_bits(),
        _ => a == b,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::change::Edited;
    use proptest::prelude::*;
    use uuid::Uuid;

    fn stamp(hlc: u64, device: u8) -> Stamp {
        Stamp { hlc, device: Uuid::from_bytes([device; 16]) }
    }

    fn change(act: Act) -> Change {
        Change { entity: 2, row: Uuid::nil(), act, strange: vec![] }
    }

    fn text(t: &str) -> Value {
        Value::Text(t.into())
    }

    fn edit(value: &str, replaces: &[Stamp]) -> Change {
        change(Act::Edit(vec![Edited { field: 1, value: text(value), replaces: replaces.to_vec() }]))
    }

    fn shown(state: &RowState) -> Vec<&Value> {
        state.fields[&1].iter().map(|live| &live.value).collect()
    }

    #[test]
    fn what_two_people_wrote_apart_stands_side_by_side_until_settled() {
        let born = change(Act::Create(vec![(1, text("tin lid"))]));
        let (a, b) = (edit("tin lid, red", &[stamp(1, 1)]), edit("tin lid, dented", &[stamp(1, 1)]));
        let mut held = vec![(stamp(1, 1), &born), (stamp(2, 1), &a), (stamp(2, 2), &b)];
        assert_eq!(shown(&merge(held.clone())), [&text("tin lid, dented"), &text("tin lid, red")]);
        let settled = edit("tin lid, red, dented", &[stamp(2, 1), stamp(2, 2)]);
        held.push((stamp(3, 1), &settled));
        assert_eq!(shown(&merge(held)), [&text("tin lid, red, dented")]);
    }

    #[test]
    fn importing_on_two_devices_makes_no_conflict_even_after_an_edit() {
        let born = change(Act::Create(vec![(1, text("L-1"))]));
        let mended = edit("L-01", &[stamp(1, 1)]);
        let state = merge([(stamp(1, 1), &born), (stamp(5, 2), &born), (stamp(3, 1), &mended)]);
        assert_eq!(shown(&state), [&text("L-01")]);
        let other = change(Act::Create(vec![(1, text("L-2"))]));
        let state = merge([(stamp(1, 1), &born), (stamp(5, 2), &other), (stamp(3, 1), &mended)]);
        assert_eq!(shown(&state), [&text("L-2"), &text("L-01")]);
    }

    fn any_change() -> impl Strategy<Value = (Stamp, Change)> {
        let values = prop_oneof![Just(Value::Null), Just(text("a")), Just(text("b")), Just(Value::Int(1))];
        let stamps = prop::collection::vec((1..9u64, 1..4u8), 0..3);
        (1..9u64, 1..4u8, 0..2u8, 1..3u16, values, stamps).prop_map(
            |(hlc, device, act, field, value, replaces)| {
                let replaces = replaces.into_iter().map(|(h, d)| stamp(h, d)).collect();
                let act = match act {
                    0 => Act::Create(vec![(field, value)]),
                    _ => Act::Edit(vec![Edited { field, value, replaces }]),
                };
                (stamp(hlc, device), change(act))
            },
        )
    }

    proptest! {
        #[test]
        fn the_state_depends_on_the_set_of_changes_alone(
            changes in prop::collection::btree_map((1..9u64, 1..4u8), any_change(), 0..12),
            order in any::<prop::sample::Index>(), again in any::<prop::sample::Index>(),
        ) {
            let held: Vec<(Stamp, Change)> =
                changes.into_iter().map(|((h, d), (_, change))| (stamp(h, d), change)).collect();
            let once = merge(held.iter().map(|(s, c)| (*s, c)));
            if !held.is_empty() {
                let mut turned: Vec<_> = held.iter().map(|(s, c)| (*s, c)).rev().collect();
                let len = turned.len();
                turned.rotate_left(order.index(len));
                turned.push((held[again.index(len)].0, &held[again.index(len)].1));
                prop_assert_eq!(once, merge(turned));
            }
        }

        #[test]
        fn a_value_is_shown_or_rivals_or_was_replaced(
            changes in prop::collection::btree_map((1..9u64, 1..4u8), any_change(), 1..12),
        ) {
            let held: Vec<(Stamp, Change)> =
                changes.into_iter().map(|((h, d), (_, change))| (stamp(h, d), change)).collect();
            let state = merge(held.iter().map(|(s, c)| (*s, c)));
            for (at, change) in &held {
                let Act::Edit(edits) = &change.act else { continue };
                for edit in edits {
                    let stands = state.fields[&edit.field].iter().any(|live| live.stamp == *at);
                    let replaced = held.iter().any(|(by, other)| by != at && matches!(&other.act, Act::Edit(o)
                        if o.iter().any(|e| e.field == edit.field && e.replaces.contains(at))));
                    prop_assert_eq!(stands, !replaced);
                }
            }
        }
    }
}
