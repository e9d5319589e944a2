//! What is asked of two builds of the app leaves no request out. With `AIRSHELF_LONG=1`: asking everything takes minutes.

use airshelf_tests::same::{every_request, record};

#[test]
fn every_request_is_asked_and_answered() {
    if std::env::var_os("AIRSHELF_LONG").is_none_or(|v| v != "1") {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let one = record(folder.path(), 1000);
    let (every, answered) = (every_request(), one.answered());
    let left_out: Vec<_> = every.difference(&answered).collect();
    assert!(every.len() > 60 && left_out.is_empty(), "of {} nobody asked: {left_out:?}", every.len());
    let unknown = one.lines.iter().find(|line| line.json.contains("does not know the request"));
    assert_eq!(unknown, None);
}
