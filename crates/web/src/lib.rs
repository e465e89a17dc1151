//! The shop in the browser: routes, handlers, pages and static files. Knows no SQL.
