//! The bytes of a change: CBOR (RFC 8949), one item a change, changes one after another (a sequence, RFC 8742).
//!
//! ```text
//! change   = [entity, row: bytes 16, act, what]
//! act 0    create: what = {field: value}
//! act 1    edit:   what = {field: [value, [stamp…]]}
//! act 2    delete: what = {device: number}
//! stamp    = [clock, device: bytes 16]
//! value    = null | integer | float | text | bytes | 37(bytes 16) | quantity | price
//! quantity = [si] | [si, raw, unit] | [si, raw, unit, instrument, uncertainty_si, source]
//! price    = {0: amount, 1: currency, 2: raw}
//! envelope = [1, device, number, clock, head: bytes, body: bytes]
//! base     = [2, device, number, chain: bytes]
//! head     = [person, wall, program, label, [import…]]
//! ```
//! The tag 37 marks a UUID (IANA registry of CBOR tags). Items may be added at the end of arrays and maps.

use super::{Act, Change, Edited, Head, Seen, Stamp};
use crate::quantity::{Details, Price, Quantity, Source, Written};
use crate::value::{Value, ValueRef};
use airshelf_units::Unit;
use minicbor::data::{Tag, Type};
use minicbor::decode::Error;
use minicbor::{Decoder, Encoder};
use uuid::Uuid;

const UUID_TAG: u64 = 37;
const ENVELOPE_FORM: u8 = 1;
const BASE_FORM: u8 = 2;
const NEVER: &str = "a vector takes every byte";

/// Bytes that are no change, no head or no envelope; trying again does not help.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("these bytes are no transaction: {why}")]
pub struct Malformed {
    why: String,
}

impl Malformed {
    /// Bytes that are none, and why.
    pub fn because(why: impl Into<String>) -> Self {
        Malformed { why: why.into() }
    }
}

impl From<Error> for Malformed {
    fn from(error: Error) -> Self {
        Malformed { why: error.to_string() }
    }
}

type Read<T> = Result<T, Error>;

/// Writes one field's value.
pub fn put_value(out: &mut Vec<u8>, value: ValueRef<'_>) {
    let mut e = Encoder::new(out);
    let done = match value {
        ValueRef::Null => e.null().map(drop),
        ValueRef::Int(i) => e.i64(i).map(drop),
        ValueRef::Real(r) => e.f64(r).map(drop),
        ValueRef::Text(t) => e.str(t).map(drop),
        ValueRef::Bytes(b) => e.bytes(b).map(drop),
        ValueRef::Id(id) => e.tag(Tag::new(UUID_TAG)).and_then(|e| e.bytes(id.as_bytes())).map(drop),
        ValueRef::Quantity(q) => put_quantity(&mut e, q),
        ValueRef::Price(p) => (|| {
            e.map(3)?.u8(0)?.f64(p.amount)?.u8(1)?.str(&p.currency)?.u8(2)?.str(&p.raw)?;
            Ok(())
        })(),
    };
    done.expect(NEVER);
}

type Wrote = Result<(), minicbor::encode::Error<std::convert::Infallible>>;

fn put_quantity(e: &mut Encoder<&mut Vec<u8>>, q: &Quantity) -> Wrote {
    let Some(written) = &q.written else {
        e.array(1)?.f64(q.si)?;
        return Ok(());
    };
    e.array(if written.details.is_some() { 6 } else { 3 })?.f64(q.si)?;
    e.str(&written.raw)?.str(written.unit.symbol())?;
    if let Some(details) = &written.details {
        match &details.instrument {
            Some(name) => e.str(name)?,
            None => e.null()?,
        };
        match details.standard_uncertainty_si {
            Some(u) => e.f64(u)?,
            None => e.null()?,
        };
        match details.source {
            None => e.null()?,
            Some(Source::Measured) => e.u8(1)?,
            Some(Source::Stated) => e.u8(2)?,
            Some(Source::Estimated) => e.u8(3)?,
        };
    }
    Ok(())
}

/// Starts a creation of a row with that many fields; [`put_field`] follows for each.
pub fn put_creation(out: &mut Vec<u8>, entity: u8, row: Uuid, fields: usize) {
    put_start(out, entity, row, 0, fields);
}

/// Writes one field of a creation.
pub fn put_field(out: &mut Vec<u8>, number: u16, value: ValueRef<'_>) {
    Encoder::new(&mut *out).u16(number).expect(NEVER);
    put_value(out, value);
}

fn put_start(out: &mut Vec<u8>, entity: u8, row: Uuid, act: u8, items: usize) {
    let mut e = Encoder::new(out);
    let _ = e
        .array(4)
        .and_then(|e| e.u8(entity))
        .and_then(|e| e.bytes(row.as_bytes()))
        .and_then(|e| e.u8(act))
        .and_then(|e| e.map(items as u64))
        .expect(NEVER);
}

/// Writes one change.
pub fn put_change(out: &mut Vec<u8>, change: &Change) {
    match &change.act {
        Act::Create(fields) => {
            put_creation(out, change.entity, change.row, fields.len());
            for (number, value) in fields {
                put_field(out, *number, value.as_ref());
            }
        }
        Act::Edit(edits) => {
            put_start(out, change.entity, change.row, 1, edits.len());
            for edit in edits {
                Encoder::new(&mut *out).u16(edit.field).and_then(|e| e.array(2)).expect(NEVER);
                put_value(out, edit.value.as_ref());
                let mut e = Encoder::new(&mut *out);
                e.array(edit.replaces.len() as u64).expect(NEVER);
                for stamp in &edit.replaces {
                    let _ = e
                        .array(2)
                        .and_then(|e| e.u64(stamp.hlc))
                        .and_then(|e| e.bytes(stamp.device.as_bytes()))
                        .expect(NEVER);
                }
            }
        }
        Act::Delete(seen) => {
            put_start(out, change.entity, change.row, 2, seen.len());
            let mut e = Encoder::new(&mut *out);
            for (device, number) in seen {
                let _ = e.bytes(device.as_bytes()).and_then(|e| e.u64(*number)).expect(NEVER);
            }
        }
        // A change of a newer program is never written again, only its transaction's bytes are forwarded.
        Act::Strange(act) => put_start(out, change.entity, change.row, *act, 0),
    }
}

/// One change of a sequence, read only as far as its row.
#[derive(Clone, Copy, Debug)]
pub struct Unread<'b> {
    /// The entity's number.
    pub entity: u8,
    /// The row.
    pub row: Uuid,
    act: u8,
    what: &'b [u8],
}

/// Walks a sequence of changes without reading their fields.
pub struct Changes<'b>(Decoder<'b>);

impl<'b> Changes<'b> {
    /// Starts at the first change of `body`.
    pub fn of(body: &'b [u8]) -> Self {
        Changes(Decoder::new(body))
    }

    /// Where the next change begins; a walk may begin there again.
    pub fn position(&self) -> usize {
        self.0.position()
    }

    fn read(&mut self) -> Read<Unread<'b>> {
        let d = &mut self.0;
        let items = d.array()?.unwrap_or(0);
        let (entity, row, act) = (d.u8()?, uuid(d)?, d.u8()?);
        let from = d.position();
        d.skip()?;
        let what = &d.input()[from..d.position()];
        for _ in 4..items {
            d.skip()?;
        }
        Ok(Unread { entity, row, act, what })
    }
}

impl<'b> Iterator for Changes<'b> {
    type Item = Result<Unread<'b>, Malformed>;

    fn next(&mut self) -> Option<Self::Item> {
        if self.0.position() >= self.0.input().len() {
            return None;
        }
        let read = self.read();
        if read.is_err() {
            self.0.set_position(self.0.input().len());
        }
        Some(read.map_err(Malformed::from))
    }
}

impl Unread<'_> {
    /// Reads the rest of the change.
    ///
    /// # Errors
    /// [`Malformed`] where the bytes are not of this form; a single value of an unknown form is only listed as strange.
    pub fn read(&self) -> Result<Change, Malformed> {
        let mut change =
            Change { entity: self.entity, row: self.row, act: Act::Strange(self.act), strange: vec![] };
        let mut d = Decoder::new(self.what);
        match self.act {
            0 => {
                let count = d.map()?.unwrap_or(0);
                let mut fields = Vec::with_capacity(count.min(64) as usize);
                for _ in 0..count {
                    let field = d.u16()?;
                    match value(&mut d)? {
                        Some(value) => fields.push((field, value)),
                        None => change.strange.push(field),
                    }
                }
                change.act = Act::Create(fields);
            }
            1 => {
                let mut edits = Vec::new();
                for _ in 0..d.map()?.unwrap_or(0) {
                    let field = d.u16()?;
                    d.array()?;
                    let value = value(&mut d)?;
                    let mut replaces = Vec::new();
                    for _ in 0..d.array()?.unwrap_or(0) {
                        d.array()?;
                        replaces.push(Stamp { hlc: d.u64()?, device: uuid(&mut d)? });
                    }
                    match value {
                        Some(value) => edits.push(Edited { field, value, replaces }),
                        None => change.strange.push(field),
                    }
                }
                change.act = Act::Edit(edits);
            }
            2 => {
                let mut seen = Seen::new();
                for _ in 0..d.map()?.unwrap_or(0) {
                    let device = uuid(&mut d)?;
                    seen.insert(device, d.u64()?);
                }
                change.act = Act::Delete(seen);
            }
            _ => {}
        }
        Ok(change)
    }
}

/// Reads every change of a sequence.
///
/// # Errors
/// [`Malformed`] where the bytes are not of this form.
pub fn read_changes(body: &[u8]) -> Result<Vec<Change>, Malformed> {
    Changes::of(body).map(|unread| unread?.read()).collect()
}

fn uuid(d: &mut Decoder<'_>) -> Read<Uuid> {
    Uuid::from_slice(d.bytes()?).map_err(|_| Error::message("an identifier has 16 bytes"))
}

/// Reads one value on its own, as [`put_value`] wrote it; none if this program cannot read it.
pub fn read_value(bytes: &[u8]) -> Option<Value> {
    value(&mut Decoder::new(bytes)).ok().flatten()
}

/// Reads a value; none where it is well formed but not of a form that this program knows.
fn value(d: &mut Decoder<'_>) -> Read<Option<Value>> {
    let from = d.position();
    let read = match d.datatype()? {
        Type::Null => d.null().map(|()| Some(Value::Null)),
        Type::Bool => d.bool().map(|b| Some(Value::Int(i64::from(b)))),
        Type::U8 | Type::U16 | Type::U32 | Type::U64 | Type::I8 | Type::I16 | Type::I32 | Type::I64 => {
            d.i64().map(|i| Some(Value::Int(i)))
        }
        Type::F64 => d.f64().map(|r| Some(Value::Real(r))),
        Type::String => d.str().map(|t| Some(Value::Text(t.to_owned()))),
        Type::Bytes => d.bytes().map(|b| Some(Value::Bytes(b.to_owned()))),
        Type::Tag if d.tag()?.as_u64() == UUID_TAG => uuid(d).map(|id| Some(Value::Id(id))),
        Type::Array => quantity(d).map(|q| q.map(Value::Quantity)),
        Type::Map => price(d).map(|p| p.map(Value::Price)),
        _ => Ok(None),
    };
    let value = read.unwrap_or(None);
    // Wherever reading stopped, the next field begins after the whole of this item.
    d.set_position(from);
    d.skip()?;
    Ok(value)
}

fn quantity(d: &mut Decoder<'_>) -> Read<Option<Quantity>> {
    let items = d.array()?;
    let si = d.f64()?;
    let written = match items {
        Some(1) => None,
        Some(3 | 6) => {
            let raw = d.str()?.into();
            let Some(unit) = Unit::from_symbol(d.str()?) else { return Ok(None) };
            let details = if items == Some(6) {
                let instrument = nullable(d, |d| d.str().map(str::to_owned))?;
                let standard_uncertainty_si = nullable(d, |d| d.f64())?;
                let source = match nullable(d, |d| d.u8())? {
                    None => None,
                    Some(1) => Some(Source::Measured),
                    Some(2) => Some(Source::Stated),
                    Some(3) => Some(Source::Estimated),
                    Some(_) => return Ok(None),
                };
                Some(Box::new(Details { instrument, standard_uncertainty_si, source }))
            } else {
                None
            };
            Some(Written { raw, unit, details })
        }
        _ => return Ok(None),
    };
    Ok(Some(Quantity { si, written }))
}

fn nullable<'b, T>(d: &mut Decoder<'b>, read: impl FnOnce(&mut Decoder<'b>) -> Read<T>) -> Read<Option<T>> {
    if d.datatype()? == Type::Null {
        d.null()?;
        return Ok(None);
    }
    read(d).map(Some)
}

fn price(d: &mut Decoder<'_>) -> Read<Option<Price>> {
    if d.map()? != Some(3) {
        return Ok(None);
    }
    let (mut amount, mut currency, mut raw) = (None, None, None);
    for _ in 0..3 {
        match d.u8()? {
            0 => amount = Some(d.f64()?),
            1 => currency = Some(d.str()?.to_owned()),
            2 => raw = Some(d.str()?.to_owned()),
            _ => return Ok(None),
        }
    }
    Ok(amount.zip(currency).zip(raw).map(|((amount, currency), raw)| Price { amount, currency, raw }))
}

impl Head {
    /// Writes the head.
    pub fn pack(&self) -> Vec<u8> {
        let mut out = Vec::with_capacity(96);
        let mut e = Encoder::new(&mut out);
        let wrote = (|| -> Wrote {
            e.array(5)?;
            match &self.person {
                Some(person) => e.bytes(person.as_bytes())?,
                None => e.null()?,
            };
            e.str(&self.wall)?.str(&self.program)?.str(&self.label)?.array(self.imports.len() as u64)?;
            for import in &self.imports {
                e.bytes(import.as_bytes())?;
            }
            Ok(())
        })();
        wrote.expect(NEVER);
        out
    }

    /// Reads a head; what a newer program added behind is passed over.
    ///
    /// # Errors
    /// [`Malformed`] where the bytes are not of this form.
    pub fn unpack(bytes: &[u8]) -> Result<Self, Malformed> {
        let mut d = Decoder::new(bytes);
        d.array()?;
        let person = nullable(&mut d, uuid)?;
        let (wall, program, label) = (d.str()?.to_owned(), d.str()?.to_owned(), d.str()?.to_owned());
        let mut imports = Vec::new();
        for _ in 0..d.array()?.unwrap_or(0) {
            imports.push(uuid(&mut d)?);
        }
        Ok(Head { person, wall, program, label, imports })
    }
}

/// Parts a CBOR sequence (RFC 8742) into its items, unread.
///
/// # Errors
/// [`Malformed`] where the bytes end within an item, or are none.
pub fn items(sequence: &[u8]) -> Result<Vec<&[u8]>, Malformed> {
    let mut d = Decoder::new(sequence);
    let mut items = Vec::new();
    while d.position() < sequence.len() {
        let begin = d.position();
        d.skip()?;
        items.push(&sequence[begin..d.position()]);
    }
    Ok(items)
}

/// A transaction as it travels: its place in the order, and two blobs that are kept and forwarded byte for byte.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Envelope<'b> {
    /// Device and clock.
    pub stamp: Stamp,
    /// Its place in the order of its device.
    pub number: u64,
    /// The packed [`Head`].
    pub head: &'b [u8],
    /// The compressed changes.
    pub body: &'b [u8],
}

impl<'b> Envelope<'b> {
    /// Writes the envelope.
    pub fn pack(&self) -> Vec<u8> {
        let mut out = Vec::with_capacity(self.head.len() + self.body.len() + 48);
        let mut e = Encoder::new(&mut out);
        let wrote = (|| -> Wrote {
            e.array(6)?.u8(ENVELOPE_FORM)?.bytes(self.stamp.device.as_bytes())?.u64(self.number)?;
            e.u64(self.stamp.hlc)?.bytes(self.head)?.bytes(self.body)?;
            Ok(())
        })();
        wrote.expect(NEVER);
        out
    }

    /// Reads an envelope.
    ///
    /// # Errors
    /// [`Malformed`] where the bytes are not of this form, or of a form that only a newer program knows.
    pub fn unpack(bytes: &'b [u8]) -> Result<Self, Malformed> {
        let mut d = Decoder::new(bytes);
        if d.array()? != Some(6) || d.u8()? != ENVELOPE_FORM {
            return Err(Malformed { why: "an envelope of another form; a newer program wrote it".into() });
        }
        let (device, number, hlc) = (uuid(&mut d)?, d.u64()?, d.u64()?);
        Ok(Envelope { stamp: Stamp { hlc, device }, number, head: d.bytes()?, body: d.bytes()? })
    }
}

/// What the transactions of a device that travel with it go on from. A transaction does not say which ones were before
/// it, and copies of a device write under the same numbers; so whoever sends some says what it takes to be held already.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Base<'b> {
    /// The device.
    pub device: Uuid,
    /// The number of the last before them.
    pub number: u64,
    /// The hash over that one and all before it.
    pub chain: &'b [u8],
}

impl<'b> Base<'b> {
    /// Writes the base.
    pub fn pack(&self) -> Vec<u8> {
        let mut out = Vec::with_capacity(self.chain.len() + 32);
        let mut e = Encoder::new(&mut out);
        let wrote = (|| -> Wrote {
            e.array(4)?.u8(BASE_FORM)?.bytes(self.device.as_bytes())?.u64(self.number)?.bytes(self.chain)?;
            Ok(())
        })();
        wrote.expect(NEVER);
        out
    }

    /// Reads a base; none where the bytes are something else, such as an envelope.
    pub fn unpack(bytes: &'b [u8]) -> Option<Self> {
        let mut d = Decoder::new(bytes);
        if d.array().ok()? != Some(4) || d.u8().ok()? != BASE_FORM {
            return None;
        }
        Some(Base { device: uuid(&mut d).ok()?, number: d.u64().ok()?, chain: d.bytes().ok()? })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn any_value() -> impl Strategy<Value = Value> {
        let unit = prop::sample::select(Unit::all().collect::<Vec<_>>());
        let source = prop::sample::select(vec![
            None,
            Some(Source::Measured),
            Some(Source::Stated),
            Some(Source::Estimated),
        ]);
        let quantity = (
            -1e9..1e9f64,
            ".{0,8}",
            unit,
            any::<bool>(),
            prop::option::of(".{1,4}"),
            prop::option::of(0.0..1.0f64),
            source,
        )
            .prop_map(|(si, raw, unit, said, instrument, standard_uncertainty_si, source)| {
                let details = said.then(|| Box::new(Details { instrument, standard_uncertainty_si, source }));
                Value::Quantity(Quantity { si, written: Some(Written { raw: raw.into(), unit, details }) })
            });
        prop_oneof![
            Just(Value::Null),
            any::<i64>().prop_map(Value::Int),
            (-1e9..1e9f64).prop_map(Value::Real),
            ".{0,12}".prop_map(Value::Text),
            prop::collection::vec(any::<u8>(), 0..20).prop_map(Value::Bytes),
            any::<[u8; 16]>().prop_map(|b| Value::Id(Uuid::from_bytes(b))),
            quantity,
            (-1e9..1e9f64).prop_map(|si| Value::Quantity(Quantity::of_si(si))),
            (0.0..1e6f64, "[A-Z]{0,3}", ".{0,6}").prop_map(|(amount, currency, raw)| Value::Price(Price {
                amount,
                currency,
                raw
            })),
        ]
    }

    proptest! {
        #[test]
        fn changes_survive_the_round_trip(values in prop::collection::vec(any_value(), 0..6), clock in any::<u64>()) {
            let stamp = Stamp { hlc: clock, device: Uuid::from_bytes([7; 16]) };
            let fields: Vec<_> = (1u16..).zip(values.clone()).collect();
            let edits = (1u16..).zip(values).map(|(field, value)| Edited { field, value, replaces: vec![stamp; 2] });
            let acts = [Act::Create(fields), Act::Edit(edits.collect()), Act::Delete(Seen::from([(stamp.device, clock)]))];
            let changes: Vec<_> =
                acts.map(|act| Change { entity: 2, row: Uuid::from_bytes([9; 16]), act, strange: vec![] }).into();
            let mut body = Vec::new();
            changes.iter().for_each(|change| put_change(&mut body, change));
            prop_assert_eq!(read_changes(&body).unwrap(), changes);
        }

        #[test]
        fn bytes_from_outside_never_panic(bytes in prop::collection::vec(any::<u8>(), 0..80)) {
            let _ = read_changes(&bytes);
            let _ = Head::unpack(&bytes);
            let _ = Envelope::unpack(&bytes);
        }
    }

    #[test]
    fn a_value_of_an_unknown_form_is_strange_and_its_neighbors_are_read() {
        let mut body = Vec::new();
        put_creation(&mut body, 2, Uuid::nil(), 3);
        put_field(&mut body, 1, ValueRef::Text("LD-7"));
        Encoder::new(&mut body)
            .u16(900)
            .unwrap()
            .array(2)
            .unwrap()
            .str("of")
            .unwrap()
            .str("tomorrow")
            .unwrap();
        put_field(&mut body, 3, ValueRef::Text("tall lid"));
        let change = &read_changes(&body).unwrap()[0];
        assert_eq!(change.strange, [900]);
        assert_eq!(
            change.act,
            Act::Create(vec![(1, Value::Text("LD-7".into())), (3, Value::Text("tall lid".into()))])
        );
    }

    #[test]
    fn a_head_with_more_behind_is_read() {
        let head =
            Head { label: "import".into(), imports: vec![Uuid::from_bytes([3; 16])], ..Head::default() };
        let mut packed = head.pack();
        packed[0] = 0x86;
        packed.push(0xf6);
        assert_eq!(Head::unpack(&packed).unwrap(), head);
    }
}
