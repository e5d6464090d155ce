//! The routes that a wire follows, as they are typed.

use super::EditError;
use crate::{document::Document, ids::RouteId};

/// Separates the titles of routes; a comma may be part of one.
pub const BETWEEN_ROUTES: &str = "; ";

/// The routes with these titles, in the order typed.
///
/// # Errors
/// If no route has one of the titles.
pub fn routes_titled(document: &Document, titles: &str) -> Result<Vec<RouteId>, EditError> {
    let wanted = titles.split(BETWEEN_ROUTES.trim()).map(str::trim);
    let found = wanted.filter(|title| !title.is_empty()).map(|title| {
        let mut routes = document.routes.iter();
        let route = routes.find(|(_, route)| route.title == title);
        route.map(|(id, _)| id.clone()).ok_or_else(|| {
            let known: Vec<_> = document.routes.values().map(|it| &*it.title).collect();
            let what = match known.is_empty() {
                true => format!("no route is titled \"{title}\": this project has no routes yet"),
                false => format!(
                    "no route is titled \"{title}\"; the routes are: {}",
                    known.join(BETWEEN_ROUTES)
                ),
            };
            EditError::cannot(what, "correct the title, or add the route first")
        })
    });
    found.collect()
}

#[cfg(test)]
mod tests {
    use super::routes_titled;
    use crate::testing::whole;

    #[test]
    fn a_misspelt_route_is_an_error_and_not_dropped() {
        let document = whole();
        let (id, route) = document.routes.iter().next().expect("a route");
        let title = &route.title;
        let found = routes_titled(&document, &format!(" {title} ;"));
        assert_eq!(found, Ok(vec![id.clone()]));
        assert_eq!(routes_titled(&document, ""), Ok(Vec::new()));
        let error = routes_titled(&document, &format!("{title}; {title}x")).expect_err("misspelt");
        let error = error.to_string();
        assert!(
            error.starts_with(&format!("no route is titled \"{title}x\"")),
            "{error}"
        );
        assert!(error.contains("the routes are: "), "{error}");
    }
}
