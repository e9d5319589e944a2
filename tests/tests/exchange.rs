//! Two shelves exchange what they hold, in one process, without a network between them.

#![allow(clippy::unwrap_used)]

use airshelf_app::native::Native;
use airshelf_app::sync::wire::{Answer, Ask, Pull};
use airshelf_app::sync::{Exchange, Local, PhotosAsked, SyncReport};
use airshelf_app::{Code, EntityKind, Fault, FileIn, Shelf};
use airshelf_store::{Store, VersionVector};
use std::path::Path;
use std::sync::Arc;

fn shelf(folder: &Path, name: &str) -> Shelf {
    Shelf::create(&folder.join(name), Arc::new(Native::new(folder.join(format!("{name}-config"))))).unwrap()
}

fn add_part(shelf: &mut Shelf, tag: &str) {
    let set = [("tag".to_owned(), tag.to_owned()), ("kind".to_owned(), "filter".to_owned())];
    shelf.add(EntityKind::Part, &set).unwrap();
}

fn tags(shelf: &Shelf) -> Vec<String> {
    let mut tags: Vec<String> = shelf
        .store()
        .load::<airshelf_catalog::Part>()
        .unwrap()
        .into_iter()
        .filter_map(|part| part.tag)
        .collect();
    tags.sort();
    tags
}

/// Carries one exchange through, and counts the questions.
fn exchange(asking: &mut Shelf, hub: &mut Shelf, photos: PhotosAsked) -> Result<(SyncReport, usize), Fault> {
    let mut exchange = Exchange::new(Local { name: Some("phone".into()) }, photos);
    let mut questions = 0;
    while let Some(ask) = exchange.next(asking)? {
        let answer = hub.answer(ask.clone(), &Local { name: Some("hub".into()) })?;
        exchange.take(asking, &ask, answer)?;
        questions += 1;
    }
    Ok((exchange.report().clone(), questions))
}

fn photo(color: u8) -> Vec<u8> {
    let mut bytes = b"\xff\xd8\xff".to_vec();
    bytes.extend((0..3_000_000u32).map(|n| (n % 251) as u8 ^ color));
    bytes
}

#[test]
fn an_empty_shelf_joins_the_hub_and_both_hold_everything() {
    let folder = tempfile::tempdir().unwrap();
    let (mut phone, mut hub) = (shelf(folder.path(), "phone"), shelf(folder.path(), "hub"));
    add_part(&mut hub, "HB-1");
    let (report, _) = exchange(&mut phone, &mut hub, PhotosAsked::All).unwrap();
    assert!(report.joined);
    assert_eq!((report.sent, report.received, report.only_here), (0, 1, 0));
    add_part(&mut phone, "PH-1");
    add_part(&mut hub, "HB-2");
    let (report, _) = exchange(&mut phone, &mut hub, PhotosAsked::All).unwrap();
    assert_eq!((report.sent, report.received, report.name.as_deref()), (1, 1, Some("hub")));
    assert_eq!(tags(&phone), ["HB-1", "HB-2", "PH-1"]);
    assert_eq!(tags(&hub), tags(&phone));
    let (report, questions) = exchange(&mut phone, &mut hub, PhotosAsked::All).unwrap();
    assert_eq!((report.sent, report.received), (0, 0));
    assert!(questions <= 3, "nothing to do takes {questions} questions");
}

/// One that goes on from an exchange of a moment ago; gives the kinds of questions that it asked.
fn again(
    asking: &mut Shelf,
    hub: &mut Shelf,
    theirs: &VersionVector,
    each: &mut dyn FnMut(&mut Exchange, &Shelf, &mut Shelf),
) -> (Exchange, Vec<&'static str>) {
    let mut exchange = Exchange::again(Local::default(), PhotosAsked::All, theirs.clone());
    let mut asked = Vec::new();
    while let Some(ask) = exchange.next(asking).unwrap() {
        asked.push(match &ask {
            Ask::Hello(_) => "hello",
            Ask::Push(_) => "push",
            Ask::Pull(_) => "pull",
            Ask::Put { .. } => "put",
            Ask::Blobs(_) => "blobs",
            _ => "another",
        });
        match hub.answer(ask.clone(), &Local::default()) {
            Ok(answer) => exchange.take(asking, &ask, answer).unwrap(),
            Err(fault) => exchange.refused(fault).unwrap(),
        }
        each(&mut exchange, asking, hub);
    }
    (exchange, asked)
}

#[test]
fn what_is_new_crosses_with_the_first_question_of_who_goes_on() {
    let folder = tempfile::tempdir().unwrap();
    let (mut phone, mut hub) = (shelf(folder.path(), "phone"), shelf(folder.path(), "hub"));
    add_part(&mut hub, "HB-1");
    exchange(&mut phone, &mut hub, PhotosAsked::All).unwrap();
    let theirs = hub.store().version_vector().unwrap();
    add_part(&mut phone, "PH-1");
    let mut after_one = None;
    let (met, asked) = again(&mut phone, &mut hub, &theirs, &mut |_, _, hub| {
        after_one.get_or_insert_with(|| tags(hub));
    });
    assert_eq!((after_one.unwrap(), asked[0]), (vec!["HB-1".to_owned(), "PH-1".into()], "push"));
    assert_eq!((met.report().sent, met.report().only_here), (1, 0));
    add_part(&mut hub, "HB-2");
    let mut after_one = None;
    let (met, asked) = again(&mut phone, &mut hub, met.theirs(), &mut |_, phone, _| {
        after_one.get_or_insert_with(|| tags(phone));
    });
    assert_eq!((after_one.unwrap().len(), asked[0]), (3, "pull"));
    assert_eq!((met.report().received, met.report().sent), (1, 0));
    assert_eq!(*met.theirs(), hub.store().version_vector().unwrap(), "what it gave is known to be there");
}

#[test]
fn who_goes_on_with_what_is_no_longer_so_ends_like_any_other() {
    let folder = tempfile::tempdir().unwrap();
    let (mut phone, mut hub) = (shelf(folder.path(), "phone"), shelf(folder.path(), "hub"));
    add_part(&mut hub, "HB-1");
    exchange(&mut phone, &mut hub, PhotosAsked::All).unwrap();
    let backup = folder.path().join("backup");
    hub.store().backup(&backup).unwrap();
    for tag in ["PH-1", "PH-2"] {
        add_part(&mut phone, tag);
        exchange(&mut phone, &mut hub, PhotosAsked::All).unwrap();
    }
    let theirs = hub.store().version_vector().unwrap();
    let host = Arc::new(Native::new(folder.path().join("hub-config")));
    let mut put_back: Shelf = Store::restore(&backup, &folder.path().join("put back"), host).unwrap().into();
    add_part(&mut phone, "PH-3");
    let (_, asked) = again(&mut phone, &mut put_back, &theirs, &mut |_, _, _| {});
    assert_eq!(asked[..3], ["push", "hello", "push"], "a push with a gap before it is refused");
    assert_eq!(tags(&put_back), ["HB-1", "PH-1", "PH-2", "PH-3"]);
    // Nor does it reach a shelf that it was never met as.
    let mut other = shelf(folder.path(), "other");
    let theirs = other.store().version_vector().unwrap();
    add_part(&mut other, "OT-1");
    let mut exchange = Exchange::again(Local::default(), PhotosAsked::All, theirs);
    assert!(matches!(exchange.next(&mut phone), Ok(Some(Ask::Hello(_)))));
}

#[test]
fn what_is_new_goes_before_the_photos_that_are_still_to_come() {
    let folder = tempfile::tempdir().unwrap();
    let (mut phone, mut hub) = (shelf(folder.path(), "phone"), shelf(folder.path(), "hub"));
    add_part(&mut hub, "HB-1");
    exchange(&mut phone, &mut hub, PhotosAsked::All).unwrap();
    let theirs = hub.store().version_vector().unwrap();
    phone.add_photos(&[FileIn { path: "HB-1.jpg".into(), bytes: photo(3) }], None, None).unwrap();
    let mut pieces = 0;
    let (met, asked) = again(&mut phone, &mut hub, &theirs, &mut |exchange, phone, hub| {
        pieces += usize::from(exchange.is_at_photos());
        if pieces == 3 {
            pieces += 1;
            add_part(hub, "HB-2");
            exchange.transactions_first();
        } else if pieces == 4 && exchange.is_at_photos() {
            assert!(tags(phone).contains(&"HB-2".into()));
        }
    });
    let first_put = asked.iter().position(|what| *what == "put").unwrap();
    let last_put = asked.iter().rposition(|what| *what == "put").unwrap();
    assert!(asked[first_put..last_put].contains(&"pull"), "{asked:?}");
    assert_eq!((met.report().photos_sent, met.report().received), (1, 1));
    assert_eq!(tags(&phone), ["HB-1", "HB-2"]);
}

#[test]
fn nobody_is_given_what_is_of_another_shelf() {
    let folder = tempfile::tempdir().unwrap();
    let (phone, mut hub) = (shelf(folder.path(), "phone"), shelf(folder.path(), "hub"));
    add_part(&mut hub, "HB-1");
    let pull = Pull { vector: phone.store().version_vector().unwrap(), budget_bytes: 1 << 20 };
    let refused = hub.answer(Ask::Pull(pull), &Local::default()).unwrap_err();
    assert_eq!(refused.code, Code::OtherShelf);
}

#[test]
fn what_no_other_device_holds_is_counted() {
    let folder = tempfile::tempdir().unwrap();
    let (mut phone, mut hub) = (shelf(folder.path(), "phone"), shelf(folder.path(), "hub"));
    add_part(&mut hub, "HB-1");
    exchange(&mut phone, &mut hub, PhotosAsked::All).unwrap();
    assert_eq!(phone.store().nowhere_else().unwrap(), 0);
    add_part(&mut phone, "PH-1");
    add_part(&mut phone, "PH-2");
    assert_eq!(phone.store().nowhere_else().unwrap(), 2);
    exchange(&mut phone, &mut hub, PhotosAsked::All).unwrap();
    assert_eq!(phone.store().nowhere_else().unwrap(), 0);
}

#[test]
fn another_shelf_is_refused_and_nothing_is_taken() {
    let folder = tempfile::tempdir().unwrap();
    let (mut phone, mut hub) = (shelf(folder.path(), "phone"), shelf(folder.path(), "hub"));
    add_part(&mut hub, "HB-1");
    add_part(&mut phone, "PH-1");
    let refused = exchange(&mut phone, &mut hub, PhotosAsked::All).unwrap_err();
    assert_eq!(refused.code, Code::OtherShelf);
    assert_eq!((tags(&phone), tags(&hub)), (vec!["PH-1".into()], vec!["HB-1".into()]));
}

#[test]
fn photos_go_both_ways_in_pieces_and_a_cut_one_is_resumed() {
    let folder = tempfile::tempdir().unwrap();
    let (mut phone, mut hub) = (shelf(folder.path(), "phone"), shelf(folder.path(), "hub"));
    add_part(&mut hub, "HB-1");
    exchange(&mut phone, &mut hub, PhotosAsked::All).unwrap();
    let add = |shelf: &mut Shelf, color: u8| {
        let file = FileIn { path: "HB-1.jpg".into(), bytes: photo(color) };
        let added = shelf.add_photos(&[file], None, None).unwrap();
        assert!(added.refused.is_empty());
    };
    add(&mut phone, 1);
    add(&mut hub, 2);
    // The line is cut after the second piece.
    let local = Local::default();
    let mut cut = Exchange::new(local.clone(), PhotosAsked::All);
    let mut pieces = 0;
    while let Some(ask) = cut.next(&mut phone).unwrap() {
        pieces += usize::from(matches!(ask, Ask::Put { .. }));
        let answer = hub.answer(ask.clone(), &local).unwrap();
        if pieces == 2 {
            break;
        }
        cut.take(&mut phone, &ask, answer).unwrap();
    }
    let mut resumed = Exchange::new(local.clone(), PhotosAsked::All);
    let mut put = Vec::new();
    while let Some(ask) = resumed.next(&mut phone).unwrap() {
        if let Ask::Put { from, .. } = ask {
            put.push(from);
        }
        let answer = hub.answer(ask.clone(), &local).unwrap();
        resumed.take(&mut phone, &ask, answer).unwrap();
    }
    assert_eq!(put, [2 << 20], "the first two pieces are not sent again");
    assert_eq!((resumed.report().photos_sent, resumed.report().photos_received), (1, 1));
    for shelf in [&phone, &hub] {
        let photos = shelf.photos(None).unwrap();
        assert_eq!(photos.len(), 2);
        assert!(photos.iter().all(|photo| photo.state == "here"), "{photos:?}");
        assert!(shelf.check().unwrap().sound);
    }
}

#[test]
fn photos_left_elsewhere_are_known_to_be_there_and_what_is_only_here_is_sent() {
    let folder = tempfile::tempdir().unwrap();
    let (mut phone, mut hub) = (shelf(folder.path(), "phone"), shelf(folder.path(), "hub"));
    add_part(&mut hub, "HB-1");
    let file = FileIn { path: "HB-1.jpg".into(), bytes: photo(7) };
    hub.add_photos(std::slice::from_ref(&file), None, None).unwrap();
    let (report, _) = exchange(&mut phone, &mut hub, PhotosAsked::None).unwrap();
    assert_eq!((report.photos_received, report.photos_elsewhere), (0, 1));
    assert_eq!(phone.photos(None).unwrap()[0].state, "elsewhere");
    phone.add_photos(&[FileIn { path: "HB-1 face.jpg".into(), bytes: photo(9) }], None, None).unwrap();
    let (report, _) = exchange(&mut phone, &mut hub, PhotosAsked::None).unwrap();
    assert_eq!(report.photos_sent, 1);
    assert_eq!(hub.photos(None).unwrap().len(), 2);
    assert!(hub.photos(None).unwrap().iter().all(|photo| photo.state == "here"));
}

#[test]
fn small_pictures_come_first_and_originals_by_choice() {
    let folder = tempfile::tempdir().unwrap();
    let (mut phone, mut hub) = (shelf(folder.path(), "phone"), shelf(folder.path(), "hub"));
    add_part(&mut hub, "HB-1");
    let mut png = std::io::Cursor::new(Vec::new());
    image::RgbImage::from_pixel(900, 600, image::Rgb([90, 120, 60]))
        .write_to(&mut png, image::ImageFormat::Png)
        .unwrap();
    let bytes = png.into_inner();
    hub.add_photos(&[FileIn { path: "HB-1.png".into(), bytes }], None, None).unwrap();
    let (report, _) = exchange(&mut phone, &mut hub, PhotosAsked::Thumbnails).unwrap();
    assert_eq!((report.thumbnails_received, report.photos_received, report.photos_elsewhere), (1, 0, 1));
    let hash = phone.store().wanted_blobs().unwrap()[0];
    let small = phone.thumbnail(&hash).unwrap().expect("the small picture is here");
    assert_eq!(image::load_from_memory(&small).unwrap().width(), 320);
    let (report, _) = exchange(&mut phone, &mut hub, PhotosAsked::All).unwrap();
    assert_eq!((report.thumbnails_received, report.photos_received, report.photos_elsewhere), (0, 1, 0));
}

#[test]
fn wrong_bytes_are_refused_asked_for_again_and_never_kept() {
    let folder = tempfile::tempdir().unwrap();
    let (mut phone, mut hub) = (shelf(folder.path(), "phone"), shelf(folder.path(), "hub"));
    add_part(&mut hub, "HB-1");
    hub.add_photos(&[FileIn { path: "HB-1.jpg".into(), bytes: photo(7) }], None, None).unwrap();
    let local = Local::default();
    for wrong_times in [1, 9] {
        let mut exchange = Exchange::new(local.clone(), PhotosAsked::All);
        let mut spoiled = 0;
        while let Some(ask) = exchange.next(&mut phone).unwrap() {
            let mut answer = hub.answer(ask.clone(), &local).unwrap();
            if let (Ask::Get { from: 0, .. }, airshelf_app::sync::wire::Answer::Piece(Some(piece))) =
                (&ask, &mut answer)
                && spoiled < wrong_times
            {
                piece.bytes[77] ^= 1;
                spoiled += 1;
            }
            exchange.take(&mut phone, &ask, answer).unwrap();
        }
        let state = phone.photos(None).unwrap()[0].state;
        if wrong_times == 1 {
            assert_eq!((state, exchange.report().photos_wrong), ("here", 0));
            let hash = phone.store().blobs().list().unwrap()[0];
            std::fs::remove_file(phone.store().blobs().path(&hash)).unwrap();
        } else {
            assert_eq!((state, exchange.report().photos_wrong), ("elsewhere", 1));
        }
    }
}

#[test]
fn a_long_fork_is_found_in_a_few_questions_and_everything_stays() {
    let folder = tempfile::tempdir().unwrap();
    let mut a = shelf(folder.path(), "a");
    let mut hub = shelf(folder.path(), "hub");
    for n in 0..400 {
        add_part(&mut a, &format!("A-{n}"));
    }
    exchange(&mut a, &mut hub, PhotosAsked::All).unwrap();
    drop(a);
    // Another machine with the same identity: folder and configuration were copied, and stand at the same place there.
    let copy = folder.path().join("kept");
    copy_all(&folder.path().join("a"), &copy);
    let host = || Arc::new(Native::new(folder.path().join("a-config")));
    let mut a = Shelf::open(&folder.path().join("a"), host()).unwrap();
    add_part(&mut a, "LATE-1");
    add_part(&mut a, "LATE-2");
    exchange(&mut a, &mut hub, PhotosAsked::All).unwrap();
    let first = a.store().device();
    drop(a);
    std::fs::remove_dir_all(folder.path().join("a")).unwrap();
    copy_all(&copy, &folder.path().join("a"));
    let mut a = Shelf::open(&folder.path().join("a"), host()).unwrap();
    add_part(&mut a, "COPY-1");
    let (report, questions) = exchange(&mut a, &mut hub, PhotosAsked::All).unwrap();
    assert_eq!(report.renamed, 1);
    assert!(report.new_identity && a.store().device() != first);
    assert!(questions < 14, "{questions} questions");
    assert_eq!(tags(&a), tags(&hub));
    for tag in ["LATE-1", "LATE-2", "COPY-1"] {
        assert!(tags(&hub).contains(&tag.to_owned()), "{tag} is kept");
    }
    assert!(a.check().unwrap().sound && hub.check().unwrap().sound);
}

fn copy_all(from: &Path, to: &Path) {
    std::fs::create_dir_all(to).unwrap();
    for entry in std::fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        if entry.file_type().unwrap().is_dir() {
            copy_all(&entry.path(), &to.join(entry.file_name()));
        } else {
            std::fs::copy(entry.path(), to.join(entry.file_name())).unwrap();
        }
    }
}

#[test]
fn a_batch_that_came_out_damaged_is_told_and_taken_when_it_comes_again() {
    let folder = tempfile::tempdir().unwrap();
    let (mut phone, mut hub) = (shelf(folder.path(), "phone"), shelf(folder.path(), "hub"));
    add_part(&mut hub, "HB-1");
    let mut asking = Exchange::new(Local { name: None }, PhotosAsked::All);
    let mut damaged = 0;
    while let Some(ask) = asking.next(&mut phone).unwrap() {
        let answer = hub.answer(ask.clone(), &Local { name: None }).unwrap();
        if let Answer::Batch(bytes) = &answer
            && !bytes.is_empty()
        {
            let cut = Answer::Batch(bytes[..bytes.len() - 3].to_vec());
            let fault = asking.take(&mut phone, &ask, cut).unwrap_err();
            assert!(fault.code == Code::Unreachable && fault.hint.is_some(), "{fault:?}");
            assert!(tags(&phone).is_empty());
            damaged += 1;
        }
        asking.take(&mut phone, &ask, answer).unwrap();
    }
    assert_eq!((damaged, tags(&phone)), (1, vec!["HB-1".to_owned()]));
}
