//! What a cell or a line states is understood, or it is told that it was not.

use super::{run_at, staged};
use airshelf_catalog::limits::Limits;
use airshelf_catalog::{BaselineKind, Restraint};
use airshelf_intake::audit::{Rule, Scope, audit};

#[test]
fn held_without_more_is_by_hand() {
    for (text, held) in [
        ("held", Restraint::HandHeld),
        ("held down", Restraint::HandHeld),
        ("held on", Restraint::HandHeld),
        ("by hand", Restraint::HandHeld),
        ("zip tied", Restraint::Fastened),
    ] {
        let sheet =
            format!("order,filter,lid,restraint,flow (CFM)\n1,F-1,L-1,{text},277\n2,F-2,L-1,nut,265\n");
        assert_eq!(run_at(&staged(&sheet).0.records, 2).restraint, Some(held), "{text}");
    }
}

#[test]
fn a_restraint_that_is_not_understood_is_a_fault_of_its_run() {
    let sheet = "session all fastened\norder,purpose,filter,lid,restraint,flow (CFM)\n1,test,F-1,L-1,wobbled about,277\n\
                 2,test,F-2,L-1,nut,265\n3,test,F-3,L-1,,266\n";
    let (staged, _) = staged(sheet);
    let scope = Scope { tables: None, limits: Limits::default() };
    let faults = audit(&staged.records, &scope);
    let rows: Vec<Option<i64>> =
        faults.iter().filter(|f| f.rule == Rule::Unrestrained).map(|f| f.place.row).collect();
    assert_eq!(rows, [Some(3)]);
    assert_eq!(staged.rows.cells, 1);
}

#[test]
fn a_baseline_is_bare_where_the_page_or_a_cell_says_so() {
    for page in ["baseline bare", "Baseline: bare", "bare baseline", "baseline = bare", "Baselines are bare"]
    {
        let sheet = format!(
            "{page}\n\norder,purpose,filter,lid,flow (CFM)\n1,baseline,,,301.2\n2,test,F-1,L-1,281\n"
        );
        assert_eq!(run_at(&staged(&sheet).0.records, 4).baseline_kind, Some(BaselineKind::Bare), "{page}");
    }
    let cell =
        "order,purpose,filter,lid,flow (CFM)\n1,baseline,bare,,301.2\n2,test,F-1,L-1,281\n3,baseline,,,301\n";
    let (staged, _) = staged(cell);
    assert_eq!(run_at(&staged.records, 2).baseline_kind, Some(BaselineKind::Bare));
    assert_eq!(run_at(&staged.records, 4).baseline_kind, Some(BaselineKind::Unknown));
}

#[test]
fn one_tag_with_two_sizes_is_found() {
    let sheet = "tag,kind,OD (in),height (in)\nLD-1,lid,14 1/8,\nLD-1,lid,14 7/8,\nPF-1,filter,14,3\nPF-1,filter,14,3\n";
    let (staged, _) = staged(sheet);
    let faults = audit(&staged.records, &Scope { tables: None, limits: Limits::default() });
    let twice: Vec<_> = faults.iter().filter(|f| f.rule == Rule::PartDuplicate).collect();
    assert_eq!(twice.iter().map(|f| f.place.row).collect::<Vec<_>>(), [Some(3)]);
}
