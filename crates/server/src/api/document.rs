//! The document of the API (OpenAPI), with what any request may be refused with.

use crate::refusal::FaultDocument;
use utoipa::OpenApi;
use utoipa::openapi::path::Operation;
use utoipa::openapi::security::{Http, HttpAuthScheme, SecurityScheme};
use utoipa::openapi::{ContentBuilder, OpenApi as Document, Ref, RefOr, ResponseBuilder};

#[derive(OpenApi)]
#[openapi(
    info(title = "airshelf hub", description = "What other devices sync with."),
    components(schemas(FaultDocument)),
    tags(
        (name = "hub", description = "The hub itself"),
        (name = "devices", description = "Pairing, and the devices that are paired"),
        (name = "sync", description = "What stores exchange"),
    )
)]
struct Start;

/// The document before the routes are in it.
pub(crate) fn start() -> Document {
    Start::openapi()
}

/// Adds the key, and to each operation what it may be refused with on the way to its route.
pub(crate) fn finish(document: &mut Document) {
    let components = document.components.get_or_insert_default();
    components
        .security_schemes
        .insert("key".into(), SecurityScheme::Http(Http::new(HttpAuthScheme::Bearer)).into());
    for item in document.paths.paths.values_mut() {
        let operations =
            [&mut item.get, &mut item.put, &mut item.post, &mut item.delete, &mut item.patch, &mut item.head];
        for operation in operations.into_iter().flatten() {
            refusals(operation);
        }
    }
}

fn refusals(operation: &mut Operation) {
    let mut list = vec![
        ("400", "The request cannot be read (`bad-argument`, `bad-path`)"),
        ("403", "Not from this origin (`foreign-origin`), or a code that does not pair (`pairing-refused`)"),
        ("408", "The request was not whole in time (`too-slow`)"),
        ("415", "The body is of a type, or packed in a way, that is not taken (`bad-type`)"),
        ("421", "The hub does not answer to this name (`foreign-host`)"),
        ("500", "The hub broke or its shelf is damaged; nothing was changed"),
        (
            "503",
            "The shelf is busy with another program, or the hub holds as many bytes of other requests as it can (`no-room`); trying again helps, after the seconds that `Retry-After` says",
        ),
        ("507", "The disk is full; nothing was changed (`disk-full`)"),
    ];
    if operation.security.is_some() {
        list.push(("401", "No key, or one that is not or no longer paired (`unpaired`)"));
    }
    if operation.request_body.is_some() {
        list.push(("413", "The body is over the limit, unpacked (`too-big`)"));
    }
    if operation.parameters.as_ref().is_some_and(|list| !list.is_empty()) {
        list.push(("404", "There is no such thing (`not-found`)"));
        list.push(("409", "More than one thing fits, or the shelf is in another state"));
    }
    for (status, description) in list {
        let fault = Ref::from_schema_name("FaultDocument");
        let content = ContentBuilder::new().schema(Some(fault)).build();
        let response =
            ResponseBuilder::new().description(description).content("application/json", content).build();
        operation.responses.responses.entry(status.into()).or_insert(RefOr::T(response));
    }
}
