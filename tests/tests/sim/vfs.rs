//! Stands between SQLite and the system's files, so that a [`Disk`] sees and may refuse everything written to it.
//!
//! Registered as the process's default, so that the store under test needs no change. Files on no disk of a simulation
//! go straight through. This is the one file of the workspace with unsafe code: SQLite's file systems are tables of C
//! functions (<https://www.sqlite.org/vfs.html>).

#![allow(unsafe_code)]

use crate::disk::{Disk, Verdict};
use rusqlite::ffi;
use std::ffi::{CStr, OsStr, c_char, c_int, c_void};
use std::os::unix::ffi::OsStrExt;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Once};

/// A file as SQLite holds it; the system's own follows right behind in the same allocation.
#[repr(C)]
struct File {
    base: ffi::sqlite3_file,
    on: *mut On,
}

struct On {
    disk: Arc<Disk>,
    file: PathBuf,
}

/// Makes the file system the process's default; further calls do nothing.
pub fn register() {
    static ONCE: Once = Once::new();
    ONCE.call_once(|| {
        // SAFETY: SQLite initializes itself on the first look for a file system, which then lives as long as the process;
        // so does ours, which is leaked. The copied functions that are not replaced take any `sqlite3_vfs`, except for
        // those below that read `pAppData`, which is copied with them.
        unsafe {
            let real = ffi::sqlite3_vfs_find(std::ptr::null());
            assert!(!real.is_null());
            let mut ours = *real;
            ours.zName = c"airshelf-sim".as_ptr();
            ours.szOsFile += size_of::<File>() as c_int;
            ours.pNext = std::ptr::null_mut();
            ours.pAppData = real.cast();
            ours.xOpen = Some(open);
            ours.xDelete = Some(delete);
            assert_eq!(ffi::sqlite3_vfs_register(Box::leak(Box::new(ours)), 1), ffi::SQLITE_OK);
        }
    });
}

unsafe fn real_of(vfs: *mut ffi::sqlite3_vfs) -> *mut ffi::sqlite3_vfs {
    unsafe { (*vfs).pAppData.cast() }
}

unsafe fn inner(file: *mut ffi::sqlite3_file) -> *mut ffi::sqlite3_file {
    unsafe { file.cast::<File>().add(1).cast() }
}

unsafe fn on<'f>(file: *mut ffi::sqlite3_file) -> Option<&'f On> {
    unsafe { (*file.cast::<File>()).on.as_ref() }
}

/// Calls the system's function of that name for a file.
macro_rules! pass {
    ($file:expr, $method:ident $(, $arg:expr)*) => {{
        let inner = inner($file);
        match (*(*inner).pMethods).$method {
            Some(method) => method(inner $(, $arg)*),
            None => ffi::SQLITE_IOERR,
        }
    }};
}

unsafe fn path_of(name: *const c_char) -> Option<PathBuf> {
    if name.is_null() {
        return None;
    }
    let bytes = unsafe { CStr::from_ptr(name) }.to_bytes();
    Some(Path::new(OsStr::from_bytes(bytes)).to_owned())
}

unsafe extern "C" fn open(
    vfs: *mut ffi::sqlite3_vfs,
    name: ffi::sqlite3_filename,
    file: *mut ffi::sqlite3_file,
    flags: c_int,
    out_flags: *mut c_int,
) -> c_int {
    unsafe {
        let ours = file.cast::<File>();
        (*ours).base.pMethods = std::ptr::null();
        (*ours).on = std::ptr::null_mut();
        let path = path_of(name);
        let disk = path.as_deref().and_then(Disk::of);
        let is_new = path.as_deref().is_some_and(|path| !path.exists());
        if disk.as_ref().is_some_and(|disk| disk.is_dark()) {
            return ffi::SQLITE_CANTOPEN;
        }
        let real = real_of(vfs);
        let inner = inner(file);
        (*inner).pMethods = std::ptr::null();
        let code =
            (*real).xOpen.map_or(ffi::SQLITE_CANTOPEN, |open| open(real, name, inner, flags, out_flags));
        if code != ffi::SQLITE_OK {
            if let Some(close) = (*inner).pMethods.as_ref().and_then(|methods| methods.xClose) {
                close(inner);
            }
            return code;
        }
        if let (Some(disk), Some(file)) = (disk, path) {
            if is_new {
                disk.made(&file);
            }
            (*ours).on = Box::into_raw(Box::new(On { disk, file }));
        }
        (*ours).base.pMethods = &METHODS;
        ffi::SQLITE_OK
    }
}

unsafe extern "C" fn delete(vfs: *mut ffi::sqlite3_vfs, name: *const c_char, sync_folder: c_int) -> c_int {
    unsafe {
        if let Some(path) = path_of(name)
            && let Some(disk) = Disk::of(&path)
            && path.exists()
            && disk.delete(&path, sync_folder != 0) != Verdict::Done
        {
            return ffi::SQLITE_IOERR_DELETE;
        }
        let real = real_of(vfs);
        (*real).xDelete.map_or(ffi::SQLITE_IOERR_DELETE, |delete| delete(real, name, 0))
    }
}

unsafe extern "C" fn close(file: *mut ffi::sqlite3_file) -> c_int {
    unsafe {
        let code = pass!(file, xClose);
        let ours = file.cast::<File>();
        if !(*ours).on.is_null() {
            drop(Box::from_raw((*ours).on));
            (*ours).on = std::ptr::null_mut();
        }
        code
    }
}

unsafe extern "C" fn read(file: *mut ffi::sqlite3_file, to: *mut c_void, count: c_int, at: i64) -> c_int {
    unsafe {
        if on(file).is_some_and(|on| on.disk.is_dark()) {
            return ffi::SQLITE_IOERR_READ;
        }
        pass!(file, xRead, to, count, at)
    }
}

/// What the file holds of a stretch; less at its end.
unsafe fn stretch(file: *mut ffi::sqlite3_file, at: usize, count: usize) -> (Vec<u8>, usize) {
    unsafe {
        let mut length = 0_i64;
        pass!(file, xFileSize, &mut length);
        let length = length as usize;
        let mut before = vec![0; count.min(length.saturating_sub(at))];
        if !before.is_empty() {
            pass!(file, xRead, before.as_mut_ptr().cast(), before.len() as c_int, at as i64);
        }
        (before, length)
    }
}

unsafe extern "C" fn write(
    file: *mut ffi::sqlite3_file,
    from: *const c_void,
    count: c_int,
    at: i64,
) -> c_int {
    unsafe {
        let mut verdict = Verdict::Done;
        if let Some(on) = on(file) {
            let bytes = std::slice::from_raw_parts(from.cast::<u8>(), count as usize);
            let (before, length) = stretch(file, at as usize, count as usize);
            let was_dark = on.disk.is_dark();
            verdict = on.disk.write(&on.file, at as usize, bytes, before, length);
            if verdict == Verdict::Full {
                return ffi::SQLITE_FULL;
            }
            if was_dark {
                return ffi::SQLITE_IOERR_WRITE;
            }
        }
        let code = pass!(file, xWrite, from, count, at);
        if verdict == Verdict::Dark { ffi::SQLITE_IOERR_WRITE } else { code }
    }
}

unsafe extern "C" fn truncate(file: *mut ffi::sqlite3_file, to: i64) -> c_int {
    unsafe {
        let mut verdict = Verdict::Done;
        if let Some(on) = on(file) {
            let (tail, _) = stretch(file, to as usize, usize::MAX);
            if on.disk.is_dark() {
                return ffi::SQLITE_IOERR_TRUNCATE;
            }
            verdict = on.disk.truncate(&on.file, to as usize, tail);
        }
        let code = pass!(file, xTruncate, to);
        if verdict == Verdict::Dark { ffi::SQLITE_IOERR_TRUNCATE } else { code }
    }
}

/// Nothing here outlives the process, so that a sync need not wait for the real disk.
unsafe extern "C" fn sync(file: *mut ffi::sqlite3_file, flags: c_int) -> c_int {
    unsafe {
        match on(file) {
            None => pass!(file, xSync, flags),
            Some(on) if on.disk.sync(&on.file) == Verdict::Done => ffi::SQLITE_OK,
            Some(_) => ffi::SQLITE_IOERR_FSYNC,
        }
    }
}

unsafe extern "C" fn file_size(file: *mut ffi::sqlite3_file, out: *mut i64) -> c_int {
    unsafe { pass!(file, xFileSize, out) }
}

unsafe extern "C" fn lock(file: *mut ffi::sqlite3_file, level: c_int) -> c_int {
    unsafe { pass!(file, xLock, level) }
}

unsafe extern "C" fn unlock(file: *mut ffi::sqlite3_file, level: c_int) -> c_int {
    unsafe { pass!(file, xUnlock, level) }
}

unsafe extern "C" fn check_reserved_lock(file: *mut ffi::sqlite3_file, out: *mut c_int) -> c_int {
    unsafe { pass!(file, xCheckReservedLock, out) }
}

unsafe extern "C" fn file_control(file: *mut ffi::sqlite3_file, what: c_int, with: *mut c_void) -> c_int {
    unsafe { pass!(file, xFileControl, what, with) }
}

unsafe extern "C" fn sector_size(file: *mut ffi::sqlite3_file) -> c_int {
    unsafe { pass!(file, xSectorSize) }
}

unsafe extern "C" fn device_characteristics(file: *mut ffi::sqlite3_file) -> c_int {
    unsafe { pass!(file, xDeviceCharacteristics) }
}

unsafe extern "C" fn shm_map(
    file: *mut ffi::sqlite3_file,
    page: c_int,
    size: c_int,
    extend: c_int,
    out: *mut *mut c_void,
) -> c_int {
    unsafe { pass!(file, xShmMap, page, size, extend, out) }
}

unsafe extern "C" fn shm_lock(
    file: *mut ffi::sqlite3_file,
    from: c_int,
    count: c_int,
    flags: c_int,
) -> c_int {
    unsafe { pass!(file, xShmLock, from, count, flags) }
}

unsafe extern "C" fn shm_barrier(file: *mut ffi::sqlite3_file) {
    unsafe {
        let inner = inner(file);
        if let Some(barrier) = (*(*inner).pMethods).xShmBarrier {
            barrier(inner);
        }
    }
}

unsafe extern "C" fn shm_unmap(file: *mut ffi::sqlite3_file, delete: c_int) -> c_int {
    unsafe { pass!(file, xShmUnmap, delete) }
}

/// Version 2 knows no reading through a map, so that every read is seen.
static METHODS: ffi::sqlite3_io_methods = ffi::sqlite3_io_methods {
    iVersion: 2,
    xClose: Some(close),
    xRead: Some(read),
    xWrite: Some(write),
    xTruncate: Some(truncate),
    xSync: Some(sync),
    xFileSize: Some(file_size),
    xLock: Some(lock),
    xUnlock: Some(unlock),
    xCheckReservedLock: Some(check_reserved_lock),
    xFileControl: Some(file_control),
    xSectorSize: Some(sector_size),
    xDeviceCharacteristics: Some(device_characteristics),
    xShmMap: Some(shm_map),
    xShmLock: Some(shm_lock),
    xShmBarrier: Some(shm_barrier),
    xShmUnmap: Some(shm_unmap),
    xFetch: None,
    xUnfetch: None,
};
