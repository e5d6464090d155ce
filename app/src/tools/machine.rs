//! Which machine is behind which tool.

use super::{
    cable::Cable, device::Add, pen::Pen, select::Select, splice::Splice, tool::Tool, wire::Wire,
};
use crate::view::{Addition, ToolKind};

/// The machine of a tool at rest. `addition` is what the device tool adds.
pub fn machine(tool: ToolKind, addition: Option<Addition>) -> Box<dyn Tool> {
    let tool: Box<dyn Tool> = match tool {
        ToolKind::Select => Box::new(Select::default()),
        ToolKind::Wire => Box::new(Wire::default()),
        ToolKind::Device => Box::new(Add { addition }),
        ToolKind::Splice => Box::new(Splice),
        ToolKind::Cable => Box::new(Cable),
    };
    Box::new(Pen::over(tool))
}
