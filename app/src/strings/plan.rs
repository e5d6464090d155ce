//! The plan room.

pub const AFTER_ALTERNATOR: &str = "Alternator-out case";
pub const AFTER_NONE: &str = "None";
pub const AFTER_NOTHING: &str = "No pilot action";
pub const AFTER_SHED: &str = "Main bus off";
pub const AFTER_ESSENTIAL: &str = "Essential loads only";
pub const SHED_AFTER_MIN: &str = "Loads shed after, min";
pub const RECHARGE_H: &str = "Recharge within, hours";
/// What surrounds wires.
pub const PROJECT_INSULATION_C: &str = "Insulation of wires that set none, °C";
pub const AMBIENT_C: &str = "Warmest air around wires, °C (70 if not set)";
pub const ALTITUDE_FT: &str = "Highest altitude, ft (20,000 if not set)";
/// Pieces of route.
pub const ROUTES: &str = "Routes";
pub const ROUTES_HELP: &str = "Wires in one route form one bundle: each carries less current, and noise couples between them.";
pub const ADD_ROUTE: &str = "Add a route";
pub const NEW_ROUTE: &str = "New route";
pub const ROUTE: &str = "Route";
pub const ROUTE_LENGTH: &str = "Route length";
pub const ROUTE_FROM: &str = "From place";
pub const ROUTE_TO: &str = "To place";
pub const REGISTRATION: &str = "Registration";
pub const AIRCRAFT: &str = "Project or aircraft";
pub const STATEMENT: &str = "Description, and what must keep working";
pub const SYSTEM_V: &str = "System voltage";
pub const TARGET_MIN: &str = "Target minutes without alternator";
pub const FEET: &str = "Show lengths in feet";
pub const LOADS: &str = "Equipment and loads";
pub const PLACES: &str = "Places";
pub const NEW_PLACE: &str = "New place";
pub const ADD_PLACE: &str = "Add a place";
pub const STATES: &str = "Phases";
pub const STATES_HELP: &str = "A phase is a phase of flight or of a test. Choose it at the top, operate switches and breakers on the drawing, then save them to the phase.";
pub const NEW_STATE: &str = "New phase";
pub const ADD_STATE: &str = "Add a phase";
pub const ALTERNATORS_ON: &str = "Alternators turning";
pub const REMOVE_ROUTE: &str = "Remove this route";
