#include "trace_request_json.h"

#include <nlohmann/json.hpp>

#include "anfract/tooth/tooth_number.h"
#include "request_json.h"

namespace anfract::server {
using nlohmann::json;

namespace {

Result<std::vector<HandCanal>> hand_canals_of(const json& node) {
    std::vector<HandCanal> canals;
    const auto found = node.find("canals");
    if (found == node.end() || found->is_null()) return canals;
    if (!found->is_array() || found->size() > 32) {
        return fail(ErrorCode::BadInput, "is not a list of canals", "canals",
                    "give at most 32 pairs of points");
    }
    for (const json& entry : *found) {
        const Result<Vec3> orifice = point_of(entry, "orifice_mm"), end = point_of(entry, "end_mm");
        if (!orifice) return tl::unexpected(orifice.error());
        if (!end) return tl::unexpected(end.error());
        canals.push_back({*orifice, *end});
    }
    return canals;
}

}  // namespace

json to_json(const TraceRequest& request) {
    json canals = json::array();
    for (const HandCanal& canal : request.by_hand) {
        canals.push_back(
            {{"orifice_mm", to_json(canal.orifice_P)}, {"end_mm", to_json(canal.end_P)}});
    }
    json node{{"inside_mm", to_json(request.inside_P)}, {"fdi", request.fdi}, {"canals", canals}};
    if (request.reference_P) node["reference_mm"] = to_json(*request.reference_P);
    return node;
}

Result<TraceRequest> trace_request_of(const json& node) {
    TraceRequest wanted;
    const Result<Vec3> inside = point_of(node, "inside_mm");
    if (!inside) return tl::unexpected(inside.error());
    wanted.inside_P = *inside;
    const auto fdi = optional_text(node, "fdi");
    if (!fdi) return tl::unexpected(fdi.error());
    wanted.fdi = fdi->value_or("");
    if (!wanted.fdi.empty()) {
        // Said now rather than by a job that fails later.
        if (const auto number = tooth_number_from_fdi(wanted.fdi); !number)
            return tl::unexpected(number.error());
    }
    if (node.contains("reference_mm") && !node.at("reference_mm").is_null()) {
        const Result<Vec3> reference = point_of(node, "reference_mm");
        if (!reference) return tl::unexpected(reference.error());
        wanted.reference_P = *reference;
    }
    auto canals = hand_canals_of(node);
    if (!canals) return tl::unexpected(canals.error());
    wanted.by_hand = std::move(*canals);
    return wanted;
}

}  // namespace anfract::server
