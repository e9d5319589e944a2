//! What a person decides about a fault: it stands, a repair that was offered is taken, or another value is typed.

mod carried;
mod offered;
mod one_part;

#[cfg(test)]
mod tests;

use super::faults::{Choice, the_one};
use crate::code::{Code, Fault};
use crate::entry::Changed;
use crate::names::Names;
use crate::shelf::Shelf;
use airshelf_catalog::{Decision, DecisionKind, Records, Uuid};
use airshelf_intake::audit::{Fault as Found, Scope, audit};
use serde::Serialize;
use ts_rs::TS;

/// A value that a person can type instead of those offered.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, TS)]
pub struct ChangeOffered {
    /// What it is.
    pub field: String,
    /// What stands there now.
    pub text: String,
    /// How to write it.
    pub hint: String,
}

/// Lets a fault stand, with the reason.
pub(super) fn let_stand(
    shelf: &mut Shelf,
    subject: Uuid,
    rule: &str,
    reason: &str,
) -> Result<Changed, Fault> {
    if airshelf_intake::audit::Rule::from_code(rule).is_none() {
        return Err(Fault::new(Code::BadArgument, format!("the audit has no rule {rule}")));
    }
    if reason.trim().is_empty() {
        return Err(Fault::new(Code::BadArgument, "a fault is let stand with a reason"));
    }
    let row = decision(DecisionKind::LetStand, subject, rule, reason.trim());
    let label = format!("let stand: {}", rule.replace('-', " "));
    let outcome = shelf.store.write(&label, |w| Ok::<Uuid, Fault>(w.create(&row)?))?;
    Ok(Changed::of(outcome))
}

fn decision(kind: DecisionKind, subject: Uuid, rule: &str, reason: &str) -> Decision {
    Decision {
        subject: Some(subject),
        kind: Some(kind),
        rule: Some(rule.into()),
        reason: Some(reason.into()),
        ..Decision::default()
    }
}

/// What a touch can do about a fault.
pub(super) fn choices(records: &Records, names: &Names, fault: &Found) -> Vec<Choice> {
    let offers = offered::offers(records, fault);
    offers.iter().map(|offer| Choice { text: offered::words(offer, names) }).collect()
}

/// What can be typed instead.
pub(super) fn change(records: &Records, fault: &Found) -> Option<ChangeOffered> {
    offered::change(records, fault)
}

/// Takes a repair that is offered: one transaction with the change and the decision.
pub(super) fn repair(shelf: &mut Shelf, subject: Uuid, rule: &str, choice: usize) -> Result<Changed, Fault> {
    let records = shelf.records()?;
    let faults = audit(&records, &Scope { tables: None, limits: shelf.limits() });
    let fault = the_one(&faults, subject, rule).ok_or_else(gone)?;
    let mut offers = offered::offers(&records, fault);
    if choice >= offers.len() {
        return Err(gone());
    }
    let offer = offers.swap_remove(choice);
    let reason = format!("{}, as the audit offered", offered::words(&offer, &Names::of(&records)));
    let outcome = shelf.store.write(&label(rule), |w| {
        carried::out(w, &records, &offer, rule)?;
        w.create(&decision(DecisionKind::Repaired, subject, rule, &reason))?;
        Ok::<Uuid, Fault>(subject)
    })?;
    Ok(Changed::of(outcome))
}

/// Puts a value that a person typed where a fault is. There is no decision about it: the audit looks at it as at any
/// other value.
pub(super) fn repair_with(
    shelf: &mut Shelf,
    subject: Uuid,
    rule: &str,
    text: &str,
) -> Result<Changed, Fault> {
    let records = shelf.records()?;
    let faults = audit(&records, &Scope { tables: None, limits: shelf.limits() });
    let fault = the_one(&faults, subject, rule).ok_or_else(gone)?;
    let offer = offered::typed(&records, fault, text)?;
    let outcome = shelf.store.write(&label(rule), |w| {
        carried::out(w, &records, &offer, rule)?;
        Ok::<Uuid, Fault>(subject)
    })?;
    Ok(Changed::of(outcome))
}

fn label(rule: &str) -> String {
    format!("repair: {}", rule.replace('-', " "))
}

fn gone() -> Fault {
    Fault::new(Code::NotFound, "this fault is not there any more, or has no such repair")
        .hint("Look at the list again.")
}
