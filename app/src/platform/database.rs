//! The browser's database (IndexedDB): for what outlives the browser being killed, and for what is too
//! large for its small storage. Own code, since no wrapper offers strict durability, where the browser reports
//! success only once the data is on the disk.

use js_sys::{Function, Object, Promise, Reflect};
use wasm_bindgen::{JsCast, JsValue, closure::Closure, prelude::wasm_bindgen};
use wasm_bindgen_futures::JsFuture;
use web_sys::{
    IdbDatabase, IdbKeyRange, IdbObjectStore, IdbRequest, IdbTransaction, IdbTransactionMode,
};

/// The database's name.
const NAME: &str = "loomwright";
/// Where projects are, by key.
pub const PROJECTS: &str = "projects";
/// Where earlier states of projects are, by key and turn.
pub const EARLIER: &str = "earlier";

#[wasm_bindgen]
extern "C" {
    /// A database whose transactions take a durability, which `web-sys` does not know yet.
    type Durable;
    #[wasm_bindgen(method, catch, js_name = transaction)]
    fn transaction(
        this: &Durable,
        store: &str,
        mode: &str,
        options: &Object,
    ) -> Result<IdbTransaction, JsValue>;
}

/// An open database.
#[derive(Clone, Debug)]
pub struct Database(IdbDatabase);

/// Opens the database; none if the browser has none, or gives none to a private window.
pub async fn open() -> Option<Database> {
    let factory = web_sys::window()?.indexed_db().ok()??;
    let request = factory.open_with_u32(NAME, 1).ok()?;
    let wanted = request.clone();
    let make = Closure::once_into_js(move || {
        let Ok(made) = wanted.result() else { return };
        let made: IdbDatabase = made.unchecked_into();
        for store in [PROJECTS, EARLIER] {
            // A store that cannot be made shows when it is first used.
            let _ = made.create_object_store(store);
        }
    });
    request.set_onupgradeneeded(Some(make.unchecked_ref()));
    let opened = answer(&request).await.ok()?;
    let database: IdbDatabase = opened.dyn_into().ok()?;
    Some(Database(database))
}

/// The browser refused: its storage is full or missing, or it closed the database.
#[derive(Clone, Debug)]
pub struct Refused;

impl From<JsValue> for Refused {
    fn from(_: JsValue) -> Self {
        Self
    }
}

impl Database {
    /// The text kept under this key.
    ///
    /// # Errors
    /// If the browser cannot look.
    pub async fn get(&self, store: &str, key: &str) -> Result<Option<String>, Refused> {
        let found = answer(&self.reader(store)?.get(&key.into())?).await?;
        Ok(found.as_string())
    }

    /// The keys that begin so, in order.
    ///
    /// # Errors
    /// If the browser cannot look.
    pub async fn keys(&self, store: &str, begin: &str) -> Result<Vec<String>, Refused> {
        let range = beginning(begin)?;
        let found = answer(&self.reader(store)?.get_all_keys_with_key(&range)?).await?;
        let keys = js_sys::Array::from(&found);
        Ok(keys.iter().filter_map(|key| key.as_string()).collect())
    }

    /// Keeps a text. When this returns, the disk has it.
    ///
    /// # Errors
    /// If the browser will not: then what was there before is there still.
    pub async fn put(&self, store: &str, key: &str, text: &str) -> Result<(), Refused> {
        let (transaction, place) = self.writer(store)?;
        place.put_with_key(&text.into(), &key.into())?;
        Ok(done(&transaction).await?)
    }

    /// Takes one key away.
    ///
    /// # Errors
    /// If the browser will not.
    pub async fn delete(&self, store: &str, key: &str) -> Result<(), Refused> {
        let (transaction, place) = self.writer(store)?;
        place.delete(&key.into())?;
        Ok(done(&transaction).await?)
    }

    /// Takes all keys that begin so away.
    ///
    /// # Errors
    /// If the browser will not.
    pub async fn delete_all(&self, store: &str, begin: &str) -> Result<(), Refused> {
        let (transaction, place) = self.writer(store)?;
        place.delete(&beginning(begin)?)?;
        Ok(done(&transaction).await?)
    }

    fn reader(&self, store: &str) -> Result<IdbObjectStore, JsValue> {
        self.0.transaction_with_str(store)?.object_store(store)
    }

    fn writer(&self, store: &str) -> Result<(IdbTransaction, IdbObjectStore), JsValue> {
        let options = Object::new();
        Reflect::set(&options, &"durability".into(), &"strict".into())?;
        let durable: &Durable = self.0.unchecked_ref();
        // A browser that does not know the options takes no notice of them.
        let transaction = durable
            .transaction(store, "readwrite", &options)
            .or_else(|_| {
                let mode = IdbTransactionMode::Readwrite;
                self.0.transaction_with_str_and_mode(store, mode)
            })?;
        let place = transaction.object_store(store)?;
        Ok((transaction, place))
    }
}

/// All keys that begin so.
fn beginning(begin: &str) -> Result<JsValue, JsValue> {
    let last = format!("{begin}\u{ffff}");
    Ok(IdbKeyRange::bound(&begin.into(), &last.into())?.into())
}

/// Waits until a request is answered.
async fn answer(request: &IdbRequest) -> Result<JsValue, JsValue> {
    wait(|right, wrong| {
        request.set_onsuccess(Some(right));
        request.set_onerror(Some(wrong));
    })
    .await?;
    request.result()
}

/// Waits until a transaction is on the disk.
async fn done(transaction: &IdbTransaction) -> Result<(), JsValue> {
    wait(|right, wrong| {
        transaction.set_oncomplete(Some(right));
        transaction.set_onabort(Some(wrong));
    })
    .await
    .map(drop)
}

async fn wait(listen: impl FnOnce(&Function, &Function)) -> Result<JsValue, JsValue> {
    let mut listen = Some(listen);
    let promise = Promise::new(&mut |right, wrong| {
        if let Some(listen) = listen.take() {
            listen(&right, &wrong);
        }
    });
    JsFuture::from(promise).await
}
