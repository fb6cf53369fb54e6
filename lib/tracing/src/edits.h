#pragma once

#include <vector>

#include "anfract/tracing/trace_session.h"
#include "assemble.h"
#include "site.h"

namespace anfract::tracing {

/// Canals with their names, as an edit finds and leaves them.
struct NamedCanals {
    std::vector<TracedCanal> canals;
    std::vector<std::string> names;  ///< one fewer than `canals` after one was added
};

/// Carries out one edit and fits again what it touches. Errors: BadInput, see
/// `TraceSession::edited`; `state` may be half changed then.
Result<void> apply_edit(const CanalEdit& edit, const Site& site, NamedCanals& state);

}  // namespace anfract::tracing
