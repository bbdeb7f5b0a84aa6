//! sheet
use crate::Result;
use crate::plan::Plan;
use crate::units::LengthUnit;
/// sheet
pub fn plan_sheet(_plan: &Plan, _unit: LengthUnit) -> Result<String> {
    Ok(String::new())
}
