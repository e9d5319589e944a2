//! What a program that does not exist yet leaves behind: fields and entities that nobody knows, a column more.

use airshelf_catalog::change::cbor::{Envelope, put_change};
use airshelf_catalog::change::{Act, Change, Edited, Head, Stamp};
use airshelf_catalog::{EntityKind, Uuid, Value};
use airshelf_store::Encoded;
use fastrand::Rng;
use std::path::Path;

fn id(dice: &mut Rng) -> Uuid {
    Uuid::from_u128(dice.u128(..))
}

/// A transaction of such a program, about a part and about things of its own.
pub fn transaction(dice: &mut Rng, part: Option<Uuid>) -> Encoded {
    let device = id(dice);
    let stamp = Stamp { hlc: (1_795_630_000_000 + dice.u64(..10_000_000)) << 16, device };
    let change = |entity, row, act| Change { entity, row, act, strange: vec![] };
    let own = Act::Create(vec![(1, Value::Text("an entity of tomorrow".into()))]);
    let mut changes = vec![change(200, id(dice), own)];
    if let Some(part) = part {
        let edit = Edited { field: 900, value: Value::Int(5), replaces: vec![] };
        changes.push(change(EntityKind::Part.number(), part, Act::Edit(vec![edit])));
    }
    let mut plain = Vec::new();
    changes.iter().for_each(|change| put_change(&mut plain, change));
    let head = Head { program: "airshelf 99".into(), ..Head::default() }.pack();
    let body = lz4_flex::compress_prepend_size(&plain);
    Encoded(Envelope { stamp, number: 1, head: &head, body: &body }.pack())
}

/// Brings a closed shelf to a newer schema with a column more.
pub fn adds_a_column(dir: &Path) -> &'static str {
    let behind = rusqlite::Connection::open(dir.join("airshelf.db")).unwrap();
    let version: i64 = behind.query_row("PRAGMA user_version", [], |row| row.get(0)).unwrap();
    if version > 90 {
        return "a newer program looks in";
    }
    behind.execute_batch("PRAGMA user_version = 99; ALTER TABLE part ADD COLUMN color TEXT").unwrap();
    "a newer program adds a column"
}
