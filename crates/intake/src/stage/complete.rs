//! Fields of records that the shelf has already, stated by a later file where the shelf has a blank.
//!
//! A record is put down once, by the first file that names it. What a later file says of it beside that is a
//! [`Completed`]: written with the file, so that the order of files does not matter. What the shelf has and the
//! file states otherwise stays.

use airshelf_catalog::records::Gather;
use airshelf_catalog::{
    BaselineKind, Entity, EntityKind, Part, Records, Run, Session, Uuid, Value, ValueError, ValueRef,
};
use std::collections::HashMap;

/// Fields to be written into a row that the shelf, or an earlier file of the same import, has.
#[derive(Clone, Debug, PartialEq)]
pub struct Completed {
    /// What the row is: a part, a session or a run.
    pub kind: EntityKind,
    /// The row.
    pub row: Uuid,
    /// Numbers of fields with their values; [`Value::Null`] clears the mark of a part that only runs had named.
    pub fields: Vec<(u16, Value)>,
}

/// Puts completed fields into the rows that records hold.
///
/// Rows that are not there are passed over.
///
/// # Errors
/// [`ValueError`] if a field is none of its entity's, which [`super::stage`] never makes.
pub fn complete(records: &mut Records, completed: &[Completed]) -> Result<(), ValueError> {
    fill::<Part>(records, completed)?;
    fill::<Session>(records, completed)?;
    fill::<Run>(records, completed)
}

fn fill<E: Gather>(records: &mut Records, completed: &[Completed]) -> Result<(), ValueError> {
    let mut wanted: HashMap<Uuid, Vec<&Completed>> = HashMap::new();
    for one in completed.iter().filter(|c| c.kind == E::KIND) {
        wanted.entry(one.row).or_default().push(one);
    }
    if wanted.is_empty() {
        return Ok(());
    }
    for row in E::gather_mut(records) {
        for one in wanted.get(&row.id()).into_iter().flatten() {
            one.put(row)?;
        }
    }
    Ok(())
}

impl Completed {
    /// Puts the fields into a row.
    ///
    /// # Errors
    /// [`ValueError`] if a field is none of its entity's.
    pub fn put<E: Entity>(&self, row: &mut E) -> Result<(), ValueError> {
        self.fields.iter().try_for_each(|(number, value)| row.set(*number, value.clone()))
    }

    /// Those of the named fields that `held` has blank and `told` states.
    pub(super) fn blanks<E: Entity>(held: &E, told: &E, names: &[&str]) -> Self {
        let mut one = Completed { kind: E::KIND, row: held.id(), fields: Vec::new() };
        for (index, field) in E::FIELDS.iter().enumerate().filter(|(_, f)| names.contains(&f.name)) {
            if held.value(index) == ValueRef::Null && told.value(index) != ValueRef::Null {
                one.fields.push((field.number, told.value(index).to_owned()));
            }
        }
        one
    }

    /// Sets a field by its name.
    pub(super) fn set<E: Entity>(&mut self, name: &str, value: Value) {
        let field = E::FIELDS.iter().find(|f| f.name == name).expect("the field is one of the entity's");
        self.fields.push((field.number, value));
    }

    pub(super) fn is_empty(&self) -> bool {
        self.fields.is_empty()
    }
}

/// Fields of a part that a table of parts states.
const OF_A_PART: &[&str] = &[
    "tag",
    "kind",
    "name",
    "maker",
    "price",
    "arrived",
    "status",
    "place",
    "filtration",
    "service",
    "note",
    "revision_label",
    "revised",
    "source_note",
    "photo_note",
];

/// What a row of a table of parts adds to the part that is held.
pub(super) fn of_part(held: &Part, told: &Part) -> Completed {
    let mut one = Completed::blanks(held, told, OF_A_PART);
    if held.only_named == Some(true) {
        // A run called it by its name; the sheet knows its tag.
        if let Some(tag) = told.tag.as_ref().filter(|t| held.tag.is_some() && held.tag.as_ref() != Some(t)) {
            one.set::<Part>("tag", Value::Text(tag.clone()));
        }
        one.set::<Part>("only_named", Value::Null);
        one.set::<Part>("table", told.table.map_or(Value::Null, Value::Id));
        one.set::<Part>("row", told.row.map_or(Value::Null, Value::Int));
    }
    one
}

/// Fields of a run that another file may state, in the order of the bits of [`HeldRun`].
const OF_A_RUN: &[&str] = &[
    "item",
    "range",
    "direction",
    "restraint",
    "service",
    "stud",
    "refit",
    "baseline_kind",
    "note",
    "photo_note",
];

/// A run that the shelf has: its table, and which fields it has blank.
#[derive(Clone, Copy, Debug)]
pub(crate) struct HeldRun {
    pub table: Option<Uuid>,
    range: Option<Uuid>,
    blank: u16,
}

impl HeldRun {
    pub fn of(run: &Run) -> Self {
        let known = run.baseline_kind.is_some_and(|k| k != BaselineKind::Unknown);
        let blanks = [
            run.item.is_none(),
            run.range.is_none(),
            run.direction.is_none(),
            run.restraint.is_none(),
            run.service.is_none(),
            run.stud.is_none(),
            run.refit.is_none(),
            run.baseline_kind.is_some() && !known,
            run.note.is_none(),
            run.photo_note.is_none(),
        ];
        let blank = blanks.iter().enumerate().fold(0, |bits, (i, b)| bits | u16::from(*b) << i);
        HeldRun { table: run.table, range: run.range, blank }
    }

    /// What `told` states of the blanks; `benchless` is its range as one of no bench, which says less.
    pub fn completed(self, id: Uuid, told: &Run, benchless: Option<Uuid>) -> Completed {
        let names: Vec<&str> = OF_A_RUN
            .iter()
            .enumerate()
            .filter(|(i, name)| {
                let unknown = **name == "baseline_kind" && told.baseline_kind == Some(BaselineKind::Unknown);
                self.blank >> i & 1 == 1 && !unknown
            })
            .map(|(_, name)| *name)
            .collect();
        let mut one = Completed::blanks(&Run { id, ..Run::default() }, told, &names);
        if let Some(range) = told.range.filter(|_| self.range.is_some() && self.range == benchless) {
            one.set::<Run>("range", Value::Id(range));
        }
        one
    }

    /// Notes that fields are blank no longer.
    pub fn fill(&mut self, completed: &Completed) {
        for (number, value) in &completed.fields {
            let name = Run::FIELDS.iter().find(|f| f.number == *number).map(|f| f.name);
            if let Some(bit) = OF_A_RUN.iter().position(|n| Some(*n) == name) {
                self.blank &= !(1 << bit);
            }
            if let (Some("range"), Value::Id(range)) = (name, value) {
                self.range = Some(*range);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use airshelf_catalog::Purpose;

    #[test]
    fn only_blanks_are_filled() {
        let held = Run { id: Uuid::from_u128(1), note: Some("held".into()), ..Run::default() };
        let told = Run {
            note: Some("told".into()),
            item: Some(Uuid::from_u128(7)),
            purpose: Some(Purpose::Test),
            ..Run::default()
        };
        let mut run = HeldRun::of(&held);
        let completed = run.completed(held.id, &told, None);
        let mut records = Records { runs: vec![held], ..Records::default() };
        complete(&mut records, std::slice::from_ref(&completed)).unwrap();
        let run_now = &records.runs[0];
        assert_eq!((run_now.note.as_deref(), run_now.item), (Some("held"), told.item));
        run.fill(&completed);
        assert!(run.completed(run_now.id, &told, None).is_empty());
    }
}
