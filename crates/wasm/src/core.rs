//! The store opened in a worker, and the way to ask it.

use airshelf_app::Browser;
use airshelf_app::request::{Desk, Places};
use js_sys::{Array, Function, Uint8Array};
use sqlite_wasm_vfs::sahpool::{OpfsSAHPoolCfgBuilder, OpfsSAHPoolUtil, install};
use std::sync::Arc;
use wasm_bindgen::prelude::*;

/// Databases with their journals, two shelves, photos and identity, and some to spare.
const FILES: usize = 16;

/// The app of this worker.
#[wasm_bindgen]
pub struct Core {
    desk: Option<Desk>,
    pool: OpfsSAHPoolUtil,
}

/// What came back.
#[wasm_bindgen]
pub struct Reply {
    json: String,
    bytes: Option<Uint8Array>,
}

#[wasm_bindgen]
impl Reply {
    /// `{"ok": …}` or `{"fault": …}`.
    #[wasm_bindgen(getter)]
    pub fn json(&self) -> String {
        self.json.clone()
    }

    /// The bytes that were asked for.
    #[wasm_bindgen(getter)]
    pub fn bytes(&self) -> Option<Uint8Array> {
        self.bytes.clone()
    }
}

fn words(error: impl std::fmt::Display) -> JsValue {
    js_sys::Error::new(&error.to_string()).into()
}

fn desk() -> Desk {
    let places = Places { own: "/own".into(), demo: "/demo".into() };
    Desk::new(places, Arc::new(Browser::new("/device.db")))
}

#[wasm_bindgen]
impl Core {
    /// Takes hold of the origin's private file system.
    ///
    /// # Errors
    /// Another worker still holds it, or the browser does not give it.
    pub async fn start() -> Result<Core, JsValue> {
        let asked = OpfsSAHPoolCfgBuilder::new().directory("airshelf").initial_capacity(FILES as _).build();
        let pool = install::<sqlite_wasm_rs::WasmOsCallback>(&asked, true).await.map_err(words)?;
        Ok(Core { desk: Some(desk()), pool })
    }

    /// Answers a request. `attached` is an array of byte arrays; `progress` is called with what, done and total, and
    /// stops the work where it gives `false`.
    ///
    /// # Errors
    /// The store was let go.
    pub fn ask(&mut self, request: &str, attached: &Array, progress: &Function) -> Result<Reply, JsValue> {
        let desk = self.desk.as_mut().ok_or_else(|| words("another window uses the shelf"))?;
        let attached = attached.iter().map(|bytes| Uint8Array::new(&bytes).to_vec()).collect();
        let answered = desk.answer(request, attached, &mut |what, done, total| {
            let said =
                progress.call3(&JsValue::NULL, &what.into(), &(done as f64).into(), &(total as f64).into());
            !said.is_ok_and(|said| said == JsValue::FALSE)
        });
        Ok(Reply { json: answered.json, bytes: answered.bytes.map(|bytes| Uint8Array::from(&bytes[..])) })
    }

    /// Lets the store go, so that another window can use it.
    ///
    /// # Errors
    /// A file is still in use.
    pub fn let_go(&mut self) -> Result<(), JsValue> {
        self.desk = None;
        self.pool.pause().map_err(words)
    }

    /// Takes the store up again.
    ///
    /// # Errors
    /// Another worker holds it.
    pub async fn take_up(&mut self) -> Result<(), JsValue> {
        self.pool.resume().await.map_err(words)?;
        self.desk = Some(desk());
        Ok(())
    }
}
