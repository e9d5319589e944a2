//! Work on two threads where there are some; the results are those of one.

/// Items from which a thread of its own is worth the while.
#[cfg(not(target_family = "wasm"))]
const MANY: usize = 2_000;
/// Items handed over at a time, and how many such pieces may wait.
#[cfg(not(target_family = "wasm"))]
const TOGETHER: usize = 64;
#[cfg(not(target_family = "wasm"))]
const WAITING: usize = 8;

/// Makes something of every item, a little ahead of where it is taken, and in the items' order.
#[cfg(not(target_family = "wasm"))]
pub(crate) fn ahead<I, T: Send>(
    items: impl ExactSizeIterator<Item = I> + Send,
    mut make: impl FnMut(I) -> T + Send,
    mut take: impl FnMut(T),
) {
    use std::sync::mpsc;
    if items.len() < MANY {
        return items.for_each(|item| take(make(item)));
    }
    std::thread::scope(|scope| {
        let (full, pieces) = mpsc::sync_channel::<Vec<T>>(WAITING);
        let (back, empty) = mpsc::channel();
        scope.spawn(move || {
            let mut piece = Vec::with_capacity(TOGETHER);
            for item in items {
                piece.push(make(item));
                if piece.len() == TOGETHER {
                    let next = empty.try_recv().unwrap_or_else(|_| Vec::with_capacity(TOGETHER));
                    if full.send(std::mem::replace(&mut piece, next)).is_err() {
                        return;
                    }
                }
            }
            let _ = full.send(piece);
        });
        for mut piece in pieces {
            piece.drain(..).for_each(&mut take);
            let _ = back.send(piece);
        }
    });
}

/// Makes something of every item and takes it.
#[cfg(target_family = "wasm")]
pub(crate) fn ahead<I, T>(
    items: impl ExactSizeIterator<Item = I>,
    mut make: impl FnMut(I) -> T,
    mut take: impl FnMut(T),
) {
    items.for_each(|item| take(make(item)));
}

/// Runs both, at once where there are threads.
#[cfg(not(target_family = "wasm"))]
pub(crate) fn beside<A, B: Send>(a: impl FnOnce() -> A, b: impl FnOnce() -> B + Send) -> (A, B) {
    std::thread::scope(|scope| {
        let b = scope.spawn(b);
        let a = a();
        (a, b.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic)))
    })
}

/// Runs both, one after the other.
#[cfg(target_family = "wasm")]
pub(crate) fn beside<A, B>(a: impl FnOnce() -> A, b: impl FnOnce() -> B) -> (A, B) {
    (a(), b())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_made_ahead_comes_whole_and_in_order() {
        for count in [0, 1, MANY - 1, MANY, MANY + 1, 10 * MANY + 17] {
            let (mut made, mut taken) = (0, Vec::new());
            let make = |item: usize| {
                made += 1;
                item * 3
            };
            ahead(0..count, make, |thing| taken.push(thing));
            assert_eq!(made, count);
            assert!(taken.iter().copied().eq((0..count).map(|item| item * 3)), "{count}");
        }
    }
}
