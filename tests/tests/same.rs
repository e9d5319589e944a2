//! What is asked of two builds of the app leaves no request out.

use airshelf_tests::same::{every_request, record};

#[test]
fn every_request_is_asked_and_answered() {
    let folder = tempfile::tempdir().unwrap();
    let one = record(folder.path(), 20);
    let (every, answered) = (every_request(), one.answered());
    let left_out: Vec<_> = every.difference(&answered).collect();
    assert!(every.len() > 60 && left_out.is_empty(), "of {} nobody asked: {left_out:?}", every.len());
    let unknown = one.lines.iter().find(|line| line.json.contains("does not know the request"));
    assert_eq!(unknown, None);
}
