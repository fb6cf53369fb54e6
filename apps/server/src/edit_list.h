#pragma once

#include <nlohmann/json_fwd.hpp>
#include <variant>
#include <vector>

#include "anfract/base/result.h"
#include "anfract/tracing/trace_session.h"

namespace anfract::server {

/// Counts depths from another point.
struct MoveReference {
    Vec3 to_P{0, 0, 0};
};

/// One correction of a traced tooth, as docs/http-api.md writes it.
using Edit = std::variant<MovePoint, AddCanal, RemoveCanal, DrawSection, MoveReference>;

/// The corrections of a case, first to last, and those that were undone, the one to be done again
/// next last.
struct EditList {
    std::vector<Edit> edits, undone;
};

/// Reads `edits` and `undone` of an object. Errors: BadInput names the entry.
Result<EditList> edit_list_of(const nlohmann::json& object);

nlohmann::json to_json(const EditList& list);

/// The tooth after the edits. Errors: those of TraceSession::edited.
Result<Tooth> apply(TraceSession& session, const std::vector<Edit>& edits);

}  // namespace anfract::server
