//! Rows of every entity together: what a sheet yields, what the audit reads, what a store hands out.

use crate::model::*;
use crate::value::{Entity, EntityKind};

macro_rules! records {
    ($( $entity:ident $plural:ident, )+) => {
        /// Rows of every entity, in no particular order but the one they came in.
        #[derive(Clone, Debug, Default, PartialEq)]
        pub struct Records { $( #[doc = concat!("Rows of [`", stringify!($entity), "`].")] pub $plural: Vec<$entity>, )+ }

        impl Records {
            /// Number of rows of every kind together.
            pub fn len(&self) -> usize { 0 $( + self.$plural.len() )+ }
            /// Moves the rows of `other` behind these.
            pub fn append(&mut self, mut other: Records) {
                $( if self.$plural.is_empty() { self.$plural = other.$plural } else { self.$plural.append(&mut other.$plural) } )+
            }
            /// Number of rows of each kind, in the order of the entities' numbers.
            pub fn counts(&self) -> Vec<usize> { vec![ $( self.$plural.len(), )+ ] }
            /// Number of rows of one kind.
            pub fn count(&self, kind: EntityKind) -> usize { match kind { $( EntityKind::$entity => self.$plural.len(), )+ } }
            /// Hands every row to `visit`, entity by entity in the order of their numbers.
            ///
            /// # Errors
            /// The first error of `visit`.
            pub fn visit<'v, V: Visit<'v>>(&'v self, visit: &mut V) -> Result<(), V::Error> {
                $( for row in &self.$plural { visit.row(row)?; } )+
                Ok(())
            }
        }

        impl<'r> RecordsPart<'r> {
            /// Hands every row of the part to `visit`, entity by entity in the order of their numbers.
            ///
            /// # Errors
            /// The first error of `visit`.
            pub fn visit<V: Visit<'r>>(&self, visit: &mut V) -> Result<(), V::Error> {
                $( for row in self.rows::<$entity>() { visit.row(row)?; } )+
                Ok(())
            }
            /// Number of rows of every kind together.
            pub fn len(&self) -> usize { 0 $( + self.rows::<$entity>().len() )+ }
        }

        $( impl Gather for $entity {
            fn gather(records: &Records) -> &Vec<$entity> { &records.$plural }
            fn gather_mut(records: &mut Records) -> &mut Vec<$entity> { &mut records.$plural }
        } )+
    };
}

/// Something that looks at rows of any entity.
pub trait Visit<'r> {
    /// What can go wrong.
    type Error;
    /// Looks at one row.
    ///
    /// # Errors
    /// Whatever stops the visit.
    fn row<E: Entity>(&mut self, row: &'r E) -> Result<(), Self::Error>;
}

/// An entity's own list within [`Records`].
pub trait Gather: Entity {
    /// The list.
    fn gather(records: &Records) -> &Vec<Self>;
    /// The list, to be changed.
    fn gather_mut(records: &mut Records) -> &mut Vec<Self>;
}

/// Some of the records, as a stretch of each kind's rows; what one of several files brought.
#[derive(Clone, Copy, Debug)]
pub struct RecordsPart<'r> {
    records: &'r Records,
    from: &'r [usize],
    to: &'r [usize],
}

impl<'r> RecordsPart<'r> {
    /// The rows of one kind.
    pub fn rows<E: Gather>(&self) -> &'r [E] {
        let all = E::gather(self.records).as_slice();
        let at = EntityKind::ALL.iter().position(|kind| *kind == E::KIND).expect("every entity is listed");
        let to = self.to.get(at).copied().unwrap_or(all.len()).min(all.len());
        &all[self.from.get(at).copied().unwrap_or(0).min(to)..to]
    }

    /// Whether there is no row of any kind.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }
}

impl<'r> From<&'r Records> for RecordsPart<'r> {
    fn from(records: &'r Records) -> Self {
        RecordsPart { records, from: &[], to: &[] }
    }
}

impl Records {
    /// The rows between two states of the list, each as [`Records::counts`] gave it.
    pub fn part<'r>(&'r self, from: &'r [usize], to: &'r [usize]) -> RecordsPart<'r> {
        RecordsPart { records: self, from, to }
    }

    /// Whether there is no row of any kind.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }
}

records! {
    Person persons, Part parts, Revision revisions, Measurement measurements, Alias aliases, Photo photos,
    Listing listings, Assembly assemblies, Bench benches, BenchRange bench_ranges, Session sessions, Run runs,
    Reading readings, Claim claims, Rating ratings, Prediction predictions, ServiceEvent service_events,
    Engine engines, Vehicle vehicles, Decision decisions, ImportFile import_files, SheetTable sheet_tables,
    SheetRows sheet_rows, AlsoAt also_at, Quarantined quarantined,
}
