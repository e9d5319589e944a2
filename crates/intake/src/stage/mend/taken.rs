//! What differs between a file as it stands and with one row corrected.

use super::needed::{Needed, linked, links};
use super::{Mended, NotMended};
use crate::stage::{Completed, Staged};
use airshelf_catalog::ids::{Derived, beside};
use airshelf_catalog::records::Gather;
use airshelf_catalog::{
    Claim, Entity, EntityKind, Part, Prediction, Rating, Reading, Records, Run, Uuid, Value,
};
use std::collections::{HashMap, HashSet};

/// Where a record stands in its file: table, row, and the column for a cell of a grid.
type Spot = (Uuid, i64, Option<i64>);

/// A record with a place of its own in a file.
trait Placed: Gather {
    fn spot(&self) -> Option<Spot>;
}

macro_rules! placed {
    ($( $entity:ident $column:expr, )+) => { $(
        impl Placed for $entity {
            fn spot(&self) -> Option<Spot> {
                let column: fn(&$entity) -> Option<i64> = $column;
                Some((self.table?, self.row?, column(self)))
            }
        }
    )+ };
}

placed! { Run |run| run.column, Prediction |_| None, Rating |_| None, }

/// Fields that say which row something is, not what it says.
const OF_THE_PLACE: [&str; 4] = ["run", "table", "row", "column"];

/// What `after` says otherwise than `before`.
fn changes<E: Entity>(before: Option<&E>, after: &E) -> Vec<(u16, Value)> {
    let blank = E::default();
    let before = before.unwrap_or(&blank);
    let of_place = |name: &str| OF_THE_PLACE.contains(&name);
    E::FIELDS
        .iter()
        .enumerate()
        .filter(|(index, field)| !of_place(field.name) && before.value(*index) != after.value(*index))
        .map(|(index, field)| (field.number, after.value(index).to_owned()))
        .collect()
}

/// Records of a kind by their place.
fn by_spot<E: Placed>(records: &Records) -> HashMap<Spot, &E> {
    E::gather(records).iter().filter_map(|row| Some((row.spot()?, row))).collect()
}

/// Whether all rows but one come out the same.
pub(super) fn same_beside(before: &Records, after: &Records, but: (Uuid, i64)) -> bool {
    fn alike<E: Placed>(before: &Records, after: &Records, but: (Uuid, i64)) -> bool {
        let (was, is) = (by_spot::<E>(before), by_spot::<E>(after));
        let others = |of: &HashMap<Spot, &E>| of.keys().filter(|s| (s.0, s.1) != but).count();
        let same = |(spot, row): (&Spot, &&E)| {
            (spot.0, spot.1) == but || was.get(spot).is_some_and(|held| changes(Some(*held), *row).is_empty())
        };
        others(&was) == others(&is) && is.iter().all(same)
    }
    fn of_runs<E: Gather>(
        before: &Records,
        after: &Records,
        but: (Uuid, i64),
        run: fn(&E) -> Option<Uuid>,
    ) -> bool {
        let spots = |records: &Records| -> HashMap<Uuid, Spot> {
            records.runs.iter().filter_map(|run| Some((run.id, run.spot()?))).collect()
        };
        let (was_at, is_at) = (spots(before), spots(after));
        let was: HashMap<Spot, &E> =
            E::gather(before).iter().filter_map(|row| Some((*was_at.get(&run(row)?)?, row))).collect();
        E::gather(after).iter().all(|row| {
            let Some(spot) = run(row).and_then(|run| is_at.get(&run)) else { return true };
            (spot.0, spot.1) == but || was.get(spot).is_some_and(|held| changes(Some(*held), row).is_empty())
        })
    }
    alike::<Run>(before, after, but)
        && alike::<Prediction>(before, after, but)
        && alike::<Rating>(before, after, but)
        && of_runs::<Reading>(before, after, but, |reading| reading.run)
        && of_runs::<Claim>(before, after, but, |claim| claim.run)
}

/// A row taken again, before and after it was corrected.
pub(super) struct Taken<'a> {
    pub shelf: &'a Records,
    pub before: &'a Staged,
    pub after: &'a Staged,
    pub table: Uuid,
    pub row: i64,
}

impl Taken<'_> {
    pub fn mended(&self) -> Result<Mended, NotMended> {
        let mut mended = Mended::default();
        let mut open: Vec<Uuid> = Vec::new();
        self.runs(&mut mended, &mut open)?;
        self.lone::<Prediction>(&mut mended, &mut open);
        self.lone::<Rating>(&mut mended, &mut open);
        self.parts(&mut mended, &mut open);
        self.completed(&mut mended, &mut open);
        self.further_places(&mut mended);
        Needed::new(self.shelf, &self.after.records).gather(open, &mut mended.records);
        mended.record = mended.record.or_else(|| self.held_record());
        match mended.record {
            Some(_) => Ok(mended),
            None => Err(NotMended::Nothing),
        }
    }

    fn is_own(&self, spot: Option<Spot>) -> bool {
        spot.is_some_and(|spot| (spot.0, spot.1) == (self.table, self.row))
    }

    /// Runs of the row: new ones, or what changes in those that the shelf has.
    fn runs(&self, mended: &mut Mended, open: &mut Vec<Uuid>) -> Result<(), NotMended> {
        let was = by_spot::<Run>(&self.before.records);
        let held = by_spot::<Run>(self.shelf);
        let after = &self.after.records;
        let reading_of =
            |records: &Records, run: Uuid| records.readings.iter().find(|r| r.run == Some(run)).cloned();
        let claim_of =
            |records: &Records, run: Uuid| records.claims.iter().find(|c| c.run == Some(run)).cloned();
        for run in after.runs.iter().filter(|run| self.is_own(run.spot())) {
            let Some(spot) = run.spot() else { continue };
            let (reading, claim) = (reading_of(after, run.id), claim_of(after, run.id));
            let before = was.get(&spot).copied();
            let Some(own) = held.get(&spot) else {
                if before.is_some() {
                    // It was taken before, and a person has removed it since.
                    continue;
                }
                let id = self.free_id(run.id);
                let mut new = run.clone();
                new.set_id(id);
                open.extend(links(&new));
                mended.records.runs.push(new);
                mended.records.readings.extend(reading.map(|r| Reading {
                    id: beside("reading", id),
                    run: Some(id),
                    ..r
                }));
                mended.records.claims.extend(claim.map(|c| Claim {
                    id: beside("claim", id),
                    run: Some(id),
                    ..c
                }));
                mended.record.get_or_insert((EntityKind::Run, id));
                continue;
            };
            mended.record.get_or_insert((EntityKind::Run, own.id));
            let fields = changes(before, run);
            open.extend(linked(&fields));
            mended.complete(EntityKind::Run, own.id, fields);
            let was_read = before.and_then(|b| reading_of(&self.before.records, b.id));
            if let Some(reading) = reading {
                self.read_again(mended, own.id, was_read.as_ref(), &reading)?;
            }
            let was_claimed = before.and_then(|b| claim_of(&self.before.records, b.id));
            let Some(claim) = claim else { continue };
            match self.shelf.claims.iter().find(|c| c.run == Some(own.id)) {
                Some(held) => {
                    mended.complete(EntityKind::Claim, held.id, changes(was_claimed.as_ref(), &claim))
                }
                None => {
                    mended.records.claims.push(Claim {
                        id: beside("claim", own.id),
                        run: Some(own.id),
                        ..claim
                    });
                }
            }
        }
        Ok(())
    }

    /// A reading is never overwritten: it is struck out, and another one made of it.
    fn read_again(
        &self,
        mended: &mut Mended,
        run: Uuid,
        before: Option<&Reading>,
        after: &Reading,
    ) -> Result<(), NotMended> {
        let fields = changes(before, after);
        if fields.is_empty() {
            return Ok(());
        }
        let own: Vec<&Reading> = self.shelf.readings.iter().filter(|r| r.run == Some(run)).collect();
        if own.is_empty() {
            let id = beside("reading", run);
            mended.records.readings.push(Reading { id, run: Some(run), ..after.clone() });
            return Ok(());
        }
        let Some(standing) = own.iter().find(|r| r.struck.is_none()) else { return Err(NotMended::Struck) };
        let mut new = Reading { id: Uuid::nil(), repairs: Some(standing.id), ..(*standing).clone() };
        for (number, value) in fields {
            new.set(number, value).expect("the fields are those of a reading");
        }
        mended.replaced.push((standing.id, new));
        Ok(())
    }

    /// Records that stand alone in their row.
    fn lone<E: Placed>(&self, mended: &mut Mended, open: &mut Vec<Uuid>) {
        let was = by_spot::<E>(&self.before.records);
        let held = by_spot::<E>(self.shelf);
        for row in E::gather(&self.after.records).iter().filter(|row| self.is_own(row.spot())) {
            let Some(spot) = row.spot() else { continue };
            match (held.get(&spot), was.get(&spot)) {
                (Some(own), before) => {
                    let fields = changes(before.copied(), row);
                    open.extend(linked(&fields));
                    mended.complete(E::KIND, own.id(), fields);
                    mended.record.get_or_insert((E::KIND, own.id()));
                }
                (None, Some(_)) => {}
                (None, None) => {
                    open.extend(links(row));
                    mended.record.get_or_insert((E::KIND, row.id()));
                    E::gather_mut(&mut mended.records).push(row.clone());
                }
            }
        }
    }

    /// Parts that the row lists, and what was measured of them.
    fn parts(&self, mended: &mut Mended, open: &mut Vec<Uuid>) {
        let here = |table: Option<Uuid>, row: Option<i64>| (table, row) == (Some(self.table), Some(self.row));
        let listed = |part: &&Part| here(part.table, part.row) && part.only_named != Some(true);
        for part in self.after.records.parts.iter().filter(listed) {
            if self.before.records.parts.iter().all(|was| was.id != part.id) {
                open.push(part.id);
                mended.record.get_or_insert((EntityKind::Part, part.id));
            }
        }
        for measured in self.after.records.measurements.iter().filter(|m| here(m.table, m.row)) {
            let is = |one: &airshelf_catalog::Measurement| one.id == measured.id;
            if !self.before.records.measurements.iter().any(is) && !self.shelf.measurements.iter().any(is) {
                open.extend(links(measured));
                mended.records.measurements.push(measured.clone());
            }
        }
    }

    /// What the correction adds to records that the shelf has from elsewhere.
    fn completed(&self, mended: &mut Mended, open: &mut Vec<Uuid>) {
        for one in &self.after.completed {
            let said = |field: &(u16, Value)| {
                let same = |was: &&Completed| was.row == one.row && was.fields.contains(field);
                self.before.completed.iter().any(|was| same(&was))
            };
            let fields: Vec<_> = one.fields.iter().filter(|field| !said(field)).cloned().collect();
            if !fields.is_empty() {
                open.extend(linked(&fields));
                mended.record.get_or_insert((one.kind, one.row));
                mended.complete(one.kind, one.row, fields);
            }
        }
    }

    /// The row repeats a record of another file.
    fn further_places(&self, mended: &mut Mended) {
        for place in &self.after.records.also_at {
            if (place.table, place.row) != (Some(self.table), Some(self.row)) {
                continue;
            }
            if let Some(record) = place.record {
                let part = self.shelf.parts.iter().any(|part| part.id == record);
                mended.record.get_or_insert((if part { EntityKind::Part } else { EntityKind::Run }, record));
            }
            if self.shelf.also_at.iter().all(|held| held.id != place.id) {
                mended.records.also_at.push(place.clone());
            }
        }
    }

    /// What the shelf has of the row already.
    fn held_record(&self) -> Option<(EntityKind, Uuid)> {
        let here = |table: Option<Uuid>, row: Option<i64>| (table, row) == (Some(self.table), Some(self.row));
        let run = self.shelf.runs.iter().find(|r| here(r.table, r.row)).map(|r| (EntityKind::Run, r.id));
        let part =
            || self.shelf.parts.iter().find(|p| here(p.table, p.row)).map(|p| (EntityKind::Part, p.id));
        run.or_else(part)
    }

    /// The identifier of a new run: its own, or where another row says the same, the one that this row adds to the file.
    fn free_id(&self, own: Uuid) -> Uuid {
        let held: HashSet<Uuid> = self.shelf.runs.iter().map(|run| run.id).collect();
        let was: HashSet<Uuid> = self.before.records.runs.iter().map(|run| run.id).collect();
        let free = |id: &Uuid| !held.contains(id) && !was.contains(id);
        if free(&own) {
            return own;
        }
        let added = self.after.records.runs.iter().map(|run| run.id).find(free);
        added.unwrap_or_else(|| {
            Derived::new("mended_run").id(Some(self.table)).int(Some(self.row)).id(Some(own)).finish()
        })
    }
}

impl Mended {
    fn complete(&mut self, kind: EntityKind, row: Uuid, fields: Vec<(u16, Value)>) {
        if !fields.is_empty() {
            self.completed.push(Completed { kind, row, fields });
        }
    }

    /// Whether the row changes nothing but what is said of it.
    pub fn is_empty(&self) -> bool {
        self.records.is_empty() && self.completed.is_empty() && self.replaced.is_empty()
    }
}
