//! How a change reaches the tables.
//!
//! A new row goes straight in. Whatever else happens to a row, its state is added up again from every change held of
//! it ([`merge`]), so that the tables are a function of the set of changes, in whatever order they came.

use crate::births::Births;
use crate::error::StoreError;
use crate::host::Host;
use crate::layout::layout;
use crate::local::{self, Place, Uuids};
use crate::log;
use crate::rows::{self, fits};
use crate::search;
use airshelf_catalog::change::branch::{begins_at, covered};
use airshelf_catalog::change::cbor::{Changes, put_value, read_changes};
use airshelf_catalog::change::{Act, Change, RowState, Seen, Stamp, merge, same};
use airshelf_catalog::ids::unpack_layers;
use airshelf_catalog::{EntityKind, FieldKind, Value, ValueRef};
use rusqlite::{CachedStatement, Connection};
use std::collections::hash_map::Entry;
use std::collections::{BTreeSet, HashMap};
use std::hash::{BuildHasher, Hasher};
use std::rc::Rc;
use uuid::Uuid;

/// Bodies kept decompressed at a time while rows are added up.
const BODIES_KEPT: usize = 64;

/// Where changes are written; lives as long as one SQLite transaction.
pub(crate) struct Tables<'c> {
    pub conn: &'c Connection,
    host: &'c dyn Host,
    ids: HashMap<Uuid, i64, Folded>,
    inserts: Vec<Option<CachedStatement<'c>>>,
    /// Rows of a big import on their way into their tables.
    births: Option<Births<'c>>,
    new_layer: Option<CachedStatement<'c>>,
    /// Deletes by row; nearly always empty.
    tombs: HashMap<i64, Vec<Stone>>,
    /// Branches of copied devices of which something is held; nearly always none.
    branches: Vec<Uuid>,
    bodies: HashMap<i64, Rc<Body>>,
    scratch: String,
    /// Rows that a concurrent change brought back: row, entity, the transaction that did.
    pub revived: Vec<(Uuid, u8, Stamp)>,
    /// Rows whose standing values may have come to differ.
    pub touched: BTreeSet<i64>,
}

/// Identifiers are random or hashes already; folding their halves spreads them enough, and nothing hostile gains more
/// by making them collide than a slow import.
#[derive(Clone, Copy, Default)]
struct Folded(u64);

impl BuildHasher for Folded {
    type Hasher = Folded;
    fn build_hasher(&self) -> Folded {
        Folded(0)
    }
}

impl Hasher for Folded {
    fn write(&mut self, bytes: &[u8]) {
        for piece in bytes.chunks_exact(8) {
            let half = u64::from_le_bytes(piece.try_into().expect("eight bytes"));
            self.0 = (self.0.rotate_left(23) ^ half).wrapping_mul(0x9e37_79b9_7f4a_7c15);
        }
    }
    fn finish(&self) -> u64 {
        self.0
    }
}

/// A transaction's changes, with where those of each row begin.
struct Body {
    bytes: Vec<u8>,
    at: HashMap<Uuid, Vec<usize>, Folded>,
}

impl Body {
    fn of(bytes: Vec<u8>) -> Result<Self, StoreError> {
        let mut at: HashMap<Uuid, Vec<usize>, Folded> = HashMap::default();
        let mut changes = Changes::of(&bytes);
        loop {
            let position = changes.position();
            let Some(unread) = changes.next() else { break };
            at.entry(unread?.row).or_default().push(position);
        }
        Ok(Body { bytes, at })
    }
}

/// A delete: who wrote it, and what they had seen, itself included.
#[derive(Clone)]
struct Stone {
    txn: i64,
    writer: Uuid,
    seen: Seen,
}

impl Stone {
    fn of(at: Place, mut seen: Seen) -> Self {
        let own = seen.entry(at.stamp.device).or_insert(0);
        *own = (*own).max(at.number);
        Stone { txn: at.txn, writer: at.stamp.device, seen }
    }
}

/// Whether a row was there already.
pub(crate) enum Birth {
    New(i64),
    Held(local::Known),
}

/// Everything said of a row by the changes held.
pub(crate) type Told = Vec<(Place, Change)>;

impl<'c> Tables<'c> {
    pub(crate) fn open(conn: &'c Connection, host: &'c dyn Host) -> Result<Self, StoreError> {
        let mut tables = Tables {
            conn,
            host,
            ids: HashMap::default(),
            inserts: (0..256).map(|_| None).collect(),
            births: None,
            new_layer: None,
            tombs: HashMap::new(),
            branches: Vec::new(),
            bodies: HashMap::new(),
            scratch: String::new(),
            revived: Vec::new(),
            touched: BTreeSet::new(),
        };
        let stones: Vec<(i64, i64)> = conn
            .prepare_cached("SELECT row, txn FROM tombstone")?
            .query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?
            .collect::<Result<_, _>>()?;
        if !stones.is_empty() {
            tables.look_for_branches()?;
        }
        for (row, txn) in stones {
            let at = local::place(conn, txn)?;
            let uuid = Uuids::one_by_one(conn).of(row)?;
            for change in read_changes(&log::body(conn, txn)?)? {
                if let (true, Act::Delete(seen)) = (change.row == uuid, change.act) {
                    tables.tombs.entry(row).or_default().push(Stone::of(at, seen));
                }
            }
        }
        Ok(tables)
    }

    /// Lays the lines of new rows down many at a time, where about that many come; [`Tables::end_births`] must follow
    /// before anything looks for a row by its UUID.
    pub(crate) fn expect_births(&mut self, rows: usize) -> Result<(), StoreError> {
        if self.tombs.is_empty()
            && let Some((births, held)) = Births::expect(self.conn, rows)?
        {
            self.ids.reserve(held.len() + rows);
            self.ids.extend(held);
            self.births = Some(births);
        }
        Ok(())
    }

    /// Lays down what is left of the new rows.
    pub(crate) fn end_births(&mut self) -> Result<(), StoreError> {
        self.births.take().map_or(Ok(()), Births::end)
    }

    /// The local integer of a row that something names.
    pub(crate) fn id_of(&mut self, uuid: Uuid, entity: u8) -> Result<i64, StoreError> {
        if let Some(id) = self.ids.get(&uuid) {
            return Ok(*id);
        }
        let id = match &mut self.births {
            Some(births) => births.make(uuid, entity, None)?,
            None => local::find_or_make(self.conn, uuid, entity)?,
        };
        self.ids.insert(uuid, id);
        Ok(id)
    }

    /// Makes a row's line under the transaction that creates it, unless it was created before.
    pub(crate) fn give_birth(&mut self, uuid: Uuid, entity: u8, txn: i64) -> Result<Birth, StoreError> {
        let known = match (self.ids.entry(uuid), &mut self.births) {
            (Entry::Vacant(place), Some(births)) => {
                return Ok(Birth::New(*place.insert(births.make(uuid, entity, Some(txn))?)));
            }
            (Entry::Vacant(place), None) => match local::make(self.conn, uuid, entity, Some(txn))? {
                Some(id) => return Ok(Birth::New(*place.insert(id))),
                None => {
                    let known = local::find(self.conn, uuid)?;
                    place.insert(known.ok_or_else(local::differ)?.id);
                    known
                }
            },
            (Entry::Occupied(id), births) => {
                if let Some(births) = births {
                    births.lay_down()?;
                }
                local::known(self.conn, *id.get())?
            }
        };
        let known = known.ok_or_else(local::differ)?;
        if known.born.is_some() {
            return Ok(Birth::Held(known));
        }
        let mut mark = self.conn.prepare_cached("UPDATE row SET born = ?2, entity = ?3 WHERE id = ?1")?;
        mark.execute((known.id, txn, entity))?;
        if self.is_touched(known.id)? { Ok(Birth::Held(known)) } else { Ok(Birth::New(known.id)) }
    }

    fn is_touched(&self, id: i64) -> Result<bool, StoreError> {
        Ok(self.conn.prepare_cached("SELECT 1 FROM touch WHERE row = ?1 LIMIT 1")?.exists([id])?)
    }

    /// Writes the typed line of a row that has none yet.
    pub(crate) fn insert<'v>(
        &mut self,
        kind: EntityKind,
        id: i64,
        value: impl Fn(usize) -> ValueRef<'v>,
    ) -> Result<(), StoreError> {
        let slot = usize::from(kind.number());
        let mut statement = match self.inserts[slot].take() {
            Some(statement) => statement,
            None => self.conn.prepare_cached(&layout(kind).insert)?,
        };
        let done = self.bind_and_run(&mut statement, kind, id, &value);
        self.inserts[slot] = Some(statement);
        done?;
        self.beside(kind, id, &value, false)
    }

    fn bind_and_run<'v>(
        &mut self,
        statement: &mut CachedStatement<'_>,
        kind: EntityKind,
        id: i64,
        value: &impl Fn(usize) -> ValueRef<'v>,
    ) -> Result<(), StoreError> {
        let layout = layout(kind);
        statement.clear_bindings();
        statement.raw_bind_parameter(1, id)?;
        for (index, field) in kind.fields().iter().enumerate() {
            let value = value(index);
            let link = match (value, field.kind) {
                (ValueRef::Id(to), FieldKind::Link(kind)) => self.id_of(to, kind.number())?,
                (ValueRef::Id(to), _) => self.id_of(to, 0)?,
                _ => 0,
            };
            rows::bind(statement, layout.first[index] + 2, value, link, &mut self.scratch)?;
        }
        statement.raw_execute()?;
        Ok(())
    }

    /// Writes what is derived from a line: an assembly's layers, the words to find it by.
    fn beside<'v>(
        &mut self,
        kind: EntityKind,
        id: i64,
        value: &impl Fn(usize) -> ValueRef<'v>,
        again: bool,
    ) -> Result<(), StoreError> {
        if kind == EntityKind::Assembly {
            if again {
                self.conn.prepare_cached("DELETE FROM layer WHERE assembly = ?1")?.execute([id])?;
            }
            if let ValueRef::Bytes(packed) = value(0) {
                self.layers(id, packed)?;
            }
        }
        search::index(self.conn, kind, id, value, again)
    }

    fn layers(&mut self, assembly: i64, packed: &[u8]) -> Result<(), StoreError> {
        let mut insert = match self.new_layer.take() {
            Some(insert) => insert,
            None => self.conn.prepare_cached(
                "INSERT INTO layer (assembly, position, revision, orientation, gap_m) VALUES (?1, ?2, ?3, ?4, ?5)",
            )?,
        };
        for (position, layer) in unpack_layers(packed).unwrap_or_default().iter().enumerate() {
            let revision = self.id_of(layer.revision, EntityKind::Revision.number())?;
            let orientation = Some(&layer.orientation).filter(|o| !o.is_empty());
            insert.execute((assembly, position as i64, revision, orientation, layer.gap_m))?;
        }
        self.new_layer = Some(insert);
        Ok(())
    }

    fn known(&self, entity: u8) -> Option<EntityKind> {
        EntityKind::from_number(entity).filter(|_| self.host.knows(entity, 0))
    }

    /// Why this program cannot take a field; none where it can.
    fn why_not(&self, kind: EntityKind, field: u16, value: &Value) -> Option<String> {
        let Some(def) = kind.fields().iter().find(|def| def.number == field) else {
            return Some(format!("{} has a field {field}", kind.table()));
        };
        if !self.host.knows(kind.number(), field) {
            return Some(format!("{} has a field {field}", kind.table()));
        }
        fits(def, value).err().map(|e| e.to_string())
    }

    /// Takes one change of a transaction that the log holds already.
    pub(crate) fn take(&mut self, at: Place, change: &Change) -> Result<(), StoreError> {
        let plain = change.strange.is_empty();
        match (self.known(change.entity), &change.act) {
            (Some(kind), Act::Create(fields)) => match self.give_birth(change.row, change.entity, at.txn)? {
                Birth::New(id)
                    if plain && fields.iter().all(|(f, v)| self.why_not(kind, *f, v).is_none()) =>
                {
                    let value = |index: usize| {
                        let number = kind.fields()[index].number;
                        let found = fields.iter().rev().find(|(field, _)| *field == number);
                        found.map_or(ValueRef::Null, |(_, value)| value.as_ref())
                    };
                    self.insert(kind, id, value)?;
                }
                Birth::New(id) => self.add_up(id)?,
                Birth::Held(known) => self.born_again(known, at, change)?,
            },
            (Some(_), Act::Edit(_)) => {
                let id = self.id_of(change.row, change.entity)?;
                self.touch(id, at.txn)?;
                self.add_up(id)?;
            }
            (_, Act::Delete(seen)) => {
                let id = self.id_of(change.row, change.entity)?;
                self.touch(id, at.txn)?;
                self.bury(id, change.row, at, seen)?;
            }
            (_, act) => {
                let id = match act {
                    Act::Create(_) => match self.give_birth(change.row, change.entity, at.txn)? {
                        Birth::New(id) => id,
                        Birth::Held(known) => {
                            self.touch(known.id, at.txn)?;
                            known.id
                        }
                    },
                    _ => {
                        let id = self.id_of(change.row, change.entity)?;
                        self.touch(id, at.txn)?;
                        id
                    }
                };
                self.add_up(id)?;
            }
        }
        if !self.tombs.is_empty() && !matches!(change.act, Act::Delete(_)) {
            self.revive_by(at, change)?;
        }
        Ok(())
    }

    fn touch(&self, id: i64, txn: i64) -> Result<(), StoreError> {
        self.conn
            .prepare_cached("INSERT OR IGNORE INTO touch (row, txn) VALUES (?1, ?2)")?
            .execute((id, txn))?;
        Ok(())
    }

    /// A second creation. The usual one says the same as the first, since both imported one sheet.
    fn born_again(&mut self, known: local::Known, at: Place, change: &Change) -> Result<(), StoreError> {
        let Some(born) = known.born.filter(|born| *born != at.txn) else { return self.add_up(known.id) };
        if !self.is_touched(known.id)? {
            let first = self.told_in(born, change.row)?;
            let earlier = local::place(self.conn, born)?.stamp <= at.stamp;
            if let [only] = &first[..] {
                if earlier && says_the_same(only, change) {
                    return self.touch(known.id, at.txn);
                }
                if !earlier && only == change && change.strange.is_empty() {
                    // The earliest creation is the row's stamp; nothing in its line changes.
                    let mut mark = self.conn.prepare_cached("UPDATE row SET born = ?2 WHERE id = ?1")?;
                    mark.execute((known.id, at.txn))?;
                    return self.touch(known.id, born);
                }
            }
        }
        self.touch(known.id, at.txn)?;
        self.add_up(known.id)
    }

    fn told_in(&mut self, txn: i64, row: Uuid) -> Result<Vec<Change>, StoreError> {
        let body = match self.bodies.get(&txn) {
            Some(body) => Rc::clone(body),
            None => {
                let body = Rc::new(Body::of(log::body(self.conn, txn)?)?);
                if self.bodies.len() >= BODIES_KEPT {
                    self.bodies.clear();
                }
                self.bodies.insert(txn, Rc::clone(&body));
                body
            }
        };
        let mut told = Vec::new();
        for at in body.at.get(&row).map_or(&[][..], |at| at) {
            if let Some(unread) = Changes::of(&body.bytes[*at..]).next() {
                told.push(unread?.read()?);
            }
        }
        Ok(told)
    }

    /// Everything the log says of a row.
    pub(crate) fn told(&mut self, id: i64) -> Result<(Uuid, u8, Told), StoreError> {
        if let Some(births) = &mut self.births {
            births.lay_down()?;
        }
        let (uuid, entity, born): ([u8; 16], u8, Option<i64>) = self
            .conn
            .prepare_cached("SELECT uuid, entity, born FROM row WHERE id = ?1")?
            .query_row([id], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))?;
        let uuid = Uuid::from_bytes(uuid);
        let mut txns: BTreeSet<i64> = self
            .conn
            .prepare_cached("SELECT txn FROM touch WHERE row = ?1")?
            .query_map([id], |row| row.get(0))?
            .collect::<Result<_, _>>()?;
        txns.extend(born);
        let mut told = Told::new();
        for txn in txns {
            let place = local::place(self.conn, txn)?;
            told.extend(self.told_in(txn, uuid)?.into_iter().map(|change| (place, change)));
        }
        Ok((uuid, entity, told))
    }

    /// The state of a row by the merge rule.
    pub(crate) fn state(&mut self, id: i64) -> Result<(RowState, Told), StoreError> {
        let (_, _, told) = self.told(id)?;
        Ok((merge(told.iter().map(|(place, change)| (place.stamp, change))), told))
    }

    /// Adds a row up again from every change held of it, and writes what comes out.
    pub(crate) fn add_up(&mut self, id: i64) -> Result<(), StoreError> {
        let (_, _, told) = self.told(id)?;
        // A row's entity comes from its changes, since a link may have guessed it before any came.
        let Some(entity) = told.iter().min_by_key(|(place, _)| place.stamp).map(|(_, change)| change.entity)
        else {
            return Ok(());
        };
        let state = merge(told.iter().map(|(place, change)| (place.stamp, change)));
        let txn_of = |stamp: Stamp| {
            let found = told.iter().find(|(place, _)| place.stamp == stamp);
            found.map(|(place, _)| place.txn).expect("a standing value comes from a change held")
        };
        self.conn.prepare_cached("DELETE FROM parked WHERE row = ?1")?.execute([id])?;
        self.conn.prepare_cached("DELETE FROM rival WHERE row = ?1")?.execute([id])?;
        let mut mark = self.conn.prepare_cached("UPDATE row SET entity = ?2, born = ?3 WHERE id = ?1")?;
        mark.execute((id, entity, state.born.map(&txn_of)))?;
        self.touched.insert(id);
        // The earliest creation is the row's one stamp; all others touch it.
        for (place, _) in &told {
            self.touch(id, place.txn)?;
        }
        if let Some(born) = state.born {
            let mut one = self.conn.prepare_cached("DELETE FROM touch WHERE row = ?1 AND txn = ?2")?;
            one.execute((id, txn_of(born)))?;
        }
        self.park(id, entity, &told)?;
        let Some(kind) = self.known(entity) else { return Ok(()) };
        for (field, live) in &state.fields {
            for rival in live.iter().skip(1) {
                let mut value = Vec::new();
                put_value(&mut value, rival.value.as_ref());
                let mut insert = self.conn.prepare_cached(
                    "INSERT OR REPLACE INTO rival (row, field, txn, value) VALUES (?1, ?2, ?3, ?4)",
                )?;
                insert.execute((id, field, txn_of(rival.stamp), value))?;
            }
        }
        if state.born.is_none() {
            return Ok(());
        }
        let shown: Vec<ValueRef<'_>> = kind
            .fields()
            .iter()
            .map(|def| {
                let live = state.fields.get(&def.number).map_or(&[][..], |live| live);
                let known = live.iter().find(|live| self.why_not(kind, def.number, &live.value).is_none());
                known.map_or(ValueRef::Null, |live| live.value.as_ref())
            })
            .collect();
        let mut statement = self.conn.prepare_cached(&layout(kind).upsert)?;
        self.bind_and_run(&mut statement, kind, id, &|index| shown[index])?;
        self.beside(kind, id, &|index| shown[index], true)
    }

    /// Lists what this program does not know in the changes of a row.
    fn park(&self, id: i64, entity: u8, told: &Told) -> Result<(), StoreError> {
        let mut insert = self
            .conn
            .prepare_cached("INSERT OR REPLACE INTO parked (row, txn, field, why) VALUES (?1, ?2, ?3, ?4)")?;
        for (place, change) in told {
            let mut put = |field: u16, why: String| insert.execute((id, place.txn, field, why));
            let Some(kind) = self.known(entity) else {
                put(0, format!("an entity {entity}"))?;
                continue;
            };
            for field in &change.strange {
                put(*field, format!("a value of {} field {field} in an unknown form", kind.table()))?;
            }
            let fields: Vec<(u16, &Value)> = match &change.act {
                Act::Create(fields) => fields.iter().map(|(field, value)| (*field, value)).collect(),
                Act::Edit(edits) => edits.iter().map(|edit| (edit.field, &edit.value)).collect(),
                Act::Delete(_) => vec![],
                Act::Strange(act) => {
                    put(0, format!("a change of kind {act}"))?;
                    continue;
                }
            };
            for (field, value) in fields {
                if let Some(why) = self.why_not(kind, field, value) {
                    put(field, why)?;
                }
            }
        }
        Ok(())
    }

    /// Takes a delete. It holds unless some held change beyond what its writer had seen touches the row.
    fn bury(&mut self, id: i64, uuid: Uuid, at: Place, seen: &Seen) -> Result<(), StoreError> {
        if self.tombs.is_empty() {
            self.look_for_branches()?;
        }
        let stone = Stone::of(at, seen.clone());
        let mut insert = self
            .conn
            .prepare_cached("INSERT OR IGNORE INTO tombstone (row, txn, revived_by) VALUES (?1, ?2, NULL)")?;
        insert.execute((id, at.txn))?;
        self.tombs.entry(id).or_default().push(stone.clone());
        self.touched.insert(id);
        for (device, held) in log::seen(self.conn)? {
            let from = covered(&stone.seen, stone.writer, device, &self.branches);
            for number in from + 1..=held {
                let Some(place) = log::find(self.conn, device, number)? else { continue };
                for unread in Changes::of(&log::body(self.conn, place.txn)?) {
                    let change = unread?.read()?;
                    if !matches!(change.act, Act::Delete(_))
                        && (change.row == uuid || names(&change).contains(&uuid))
                    {
                        return self.revive(id, at.txn, uuid, place);
                    }
                }
            }
        }
        Ok(())
    }

    fn look_for_branches(&mut self) -> Result<(), StoreError> {
        self.branches = log::seen(self.conn)?.into_keys().filter(|id| begins_at(*id).is_some()).collect();
        Ok(())
    }

    /// Finds anew which deletes hold, after transactions got other names or a branch is new here.
    pub(crate) fn bury_again(&mut self) -> Result<(), StoreError> {
        self.look_for_branches()?;
        for (id, stones) in std::mem::take(&mut self.tombs) {
            let uuid = Uuids::one_by_one(self.conn).of(id)?;
            for stone in stones {
                let mut mark = self
                    .conn
                    .prepare_cached("UPDATE tombstone SET revived_by = NULL WHERE row = ?1 AND txn = ?2")?;
                mark.execute((id, stone.txn))?;
                self.bury(id, uuid, local::place(self.conn, stone.txn)?, &stone.seen)?;
            }
        }
        Ok(())
    }

    fn revive(&mut self, id: i64, stone: i64, uuid: Uuid, at: Place) -> Result<(), StoreError> {
        // Which change revived it depends on the order they came in; that one did does not.
        let mut mark = self.conn.prepare_cached(
            "UPDATE tombstone SET revived_by = ?3 WHERE row = ?1 AND txn = ?2 AND revived_by IS NULL",
        )?;
        if mark.execute((id, stone, at.txn))? == 1 {
            let entity =
                self.conn.query_row("SELECT entity FROM row WHERE id = ?1", [id], |row| row.get(0))?;
            self.revived.push((uuid, entity, at.stamp));
            self.touched.insert(id);
        }
        Ok(())
    }

    /// Whether any delete is held at all.
    pub(crate) fn any_dead(&self) -> bool {
        !self.tombs.is_empty()
    }

    /// Brings back deleted rows that a change beyond what their deleters had seen is about, or names.
    pub(crate) fn revive_by(&mut self, at: Place, change: &Change) -> Result<(), StoreError> {
        let mut rows = names(change);
        rows.push(change.row);
        for uuid in rows {
            let Some(known) = local::find(self.conn, uuid)? else { continue };
            for stone in self.tombs.get(&known.id).cloned().unwrap_or_default() {
                if at.number > covered(&stone.seen, stone.writer, at.stamp.device, &self.branches) {
                    self.revive(known.id, stone.txn, uuid, at)?;
                }
            }
        }
        Ok(())
    }

    /// Whether a delete of the row holds.
    pub(crate) fn is_dead(&self, id: i64) -> Result<bool, StoreError> {
        let mut find = self
            .conn
            .prepare_cached("SELECT 1 FROM tombstone WHERE row = ?1 AND revived_by IS NULL LIMIT 1")?;
        Ok(find.exists([id])?)
    }
}

fn says_the_same(a: &Change, b: &Change) -> bool {
    let (Act::Create(x), Act::Create(y)) = (&a.act, &b.act) else { return false };
    let blank = |fields: &[(u16, Value)]| fields.iter().filter(|(_, v)| *v != Value::Null).count();
    a.strange.is_empty()
        && b.strange.is_empty()
        && blank(x) == blank(y)
        && x.iter().all(|(n, v)| *v == Value::Null || y.iter().any(|(m, w)| m == n && same(v, w)))
}

/// The rows that a change's values name.
fn names(change: &Change) -> Vec<Uuid> {
    let mut names = Vec::new();
    let mut note = |value: &Value| match value {
        Value::Id(id) => names.push(*id),
        Value::Bytes(packed) if change.entity == EntityKind::Assembly.number() => {
            names.extend(unpack_layers(packed).unwrap_or_default().iter().map(|layer| layer.revision));
        }
        _ => {}
    };
    match &change.act {
        Act::Create(fields) => fields.iter().for_each(|(_, value)| note(value)),
        Act::Edit(edits) => edits.iter().for_each(|edit| note(&edit.value)),
        Act::Delete(_) | Act::Strange(_) => {}
    }
    names
}
