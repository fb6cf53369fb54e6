#include "trace_request_json.h"

#include <nlohmann/json.hpp>

#include "request_json.h"

namespace anfract::server {
using nlohmann::json;

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
    TraceRequest request;
    const auto inside = point_of(node, "inside_mm");
    if (!inside) return tl::unexpected(inside.error());
    request.inside_P = *inside;
    request.fdi = node.value("fdi", "");
    if (node.contains("reference_mm")) {
        const auto reference = point_of(node, "reference_mm");
        if (!reference) return tl::unexpected(reference.error());
        request.reference_P = *reference;
    }
    for (const json& canal : node.value("canals", json::array())) {
        const auto orifice = point_of(canal, "orifice_mm"), end = point_of(canal, "end_mm");
        if (!orifice) return tl::unexpected(orifice.error());
        if (!end) return tl::unexpected(end.error());
        request.by_hand.push_back({*orifice, *end});
    }
    return request;
}

}  // namespace anfract::server
