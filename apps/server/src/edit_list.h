#pragma once

#include <nlohmann/json_fwd.hpp>
#include <string>
#include <variant>
#include <vector>

#include "anfract/base/result.h"
#include "anfract/tracing/trace_session.h"

namespace anfract::server {

/// Fixes the section of a canal by an outline drawn with a free hand, closed from its last point to
/// its first.
struct DrawOutline {
    std::string canal;
    std::vector<Vec3> outline_P;
};

/// Counts depths from another point.
struct MoveReference {
    Vec3 to_P{0, 0, 0};
};

/// One correction of a traced tooth, as docs/http-api.md writes it.
using Edit =
    std::variant<MovePoint, AddCanal, RemoveCanal, DrawSection, DrawOutline, MoveReference>;

/// The corrections of a case, first to last, and those that were undone, the one to be done again
/// next last.
struct EditList {
    std::vector<Edit> edits, undone;
};

/// Reads `edits` and `undone` of an object. Errors: BadInput names the entry.
Result<EditList> edit_list_of(const nlohmann::json& object);

nlohmann::json to_json(const EditList& list);

/// The tooth after the edits, each made in the tooth the ones before it left. Errors: those of
/// TraceSession::edited; BadInput for an outline of a canal that is not there.
Result<Tooth> apply(TraceSession& session, const std::vector<Edit>& edits);

}  // namespace anfract::server
