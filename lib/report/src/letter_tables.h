#pragma once

#include "anfract/plan/plan.h"
#include "sheets.h"

namespace anfract {

/// One row a canal: what was measured.
Table findings_table(const Plan& plan);

/// One row a canal: what the plan suggests.
Table summary_table(const Plan& plan);

/// One row an instrument: the order in one canal.
Table order_table(const Plan& plan, const CanalPlan& canal);

/// What each instrument takes away; steps that take nothing to speak of are left out.
Table removal_table(const Plan& plan, const CanalPlan& canal);

/// One row a device: what goes into the canal as shaped.
Table passive_table(const Plan& plan, const CanalPlan& canal);

}  // namespace anfract
