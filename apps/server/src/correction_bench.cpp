#include "correction_bench.h"

#include <algorithm>
#include <nlohmann/json.hpp>

#include "anfract/base/json_text.h"
#include "request_json.h"

namespace anfract::server {
using nlohmann::json;

namespace {

json request_to_json(const TraceRequest& request) {
    json canals = json::array();
    for (const HandCanal& canal : request.by_hand) {
        canals.push_back(
            {{"orifice_mm", to_json(canal.orifice_P)}, {"end_mm", to_json(canal.end_P)}});
    }
    json node{{"inside_mm", to_json(request.inside_P)}, {"fdi", request.fdi}, {"canals", canals}};
    if (request.reference_P) node["reference_mm"] = to_json(*request.reference_P);
    return node;
}

Result<TraceRequest> request_from_json(const json& node) {
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

Error not_traced_here(const std::string& case_id) {
    return {ErrorCode::NotFound, "this case was not traced here and cannot be corrected", case_id,
            "open its scan and trace the tooth"};
}

}  // namespace

Result<json> CorrectionBench::stored(const std::string& case_id) const {
    const auto file = record_.cases().file(case_id, "corrections");
    if (!file) return tl::unexpected(not_traced_here(case_id));
    const auto text = record_.vault().get(file->sha256);
    if (!text) return tl::unexpected(text.error());
    json document = parse_json(*text, case_id).value_or(json());
    if (!document.is_object() || !document.contains("request"))
        return tl::unexpected(not_traced_here(case_id));
    return document;
}

Result<void> CorrectionBench::store(const std::string& case_id, const json& document,
                                    const std::string& author) const {
    const auto kept = record_.cases().add_file(
        case_id, {"corrections", document.dump(), "corrections.json"}, author);
    if (!kept) return tl::unexpected(kept.error());
    return {};
}

Result<void> CorrectionBench::remember(const std::string& case_id, const TraceRequest& request,
                                       const std::string& author) const {
    return store(case_id, {{"request", request_to_json(request)}}, author);
}

Result<TraceRequest> CorrectionBench::request(const std::string& case_id) const {
    const auto document = stored(case_id);
    if (!document) return tl::unexpected(document.error());
    return request_from_json(document->at("request"));
}

Result<EditList> CorrectionBench::edits(const std::string& case_id) const {
    const auto document = stored(case_id);
    return document ? edit_list_of(*document) : EditList{};
}

Result<void> CorrectionBench::keep(const std::string& case_id, const EditList& list,
                                   const std::string& author) const {
    auto document = stored(case_id);
    if (!document) return tl::unexpected(document.error());
    document->update(to_json(list));
    return store(case_id, *document, author);
}

void CorrectionBench::forget(const std::string& case_id) {
    const std::lock_guard lock(mutex_);
    held_.remove_if([&](const auto& held) { return held->case_id == case_id; });
}

std::shared_ptr<CorrectionBench::Held> CorrectionBench::find(const std::string& case_id) const {
    const std::lock_guard lock(mutex_);
    const auto found = std::find_if(held_.begin(), held_.end(),
                                    [&](const auto& held) { return held->case_id == case_id; });
    if (found == held_.end()) return nullptr;
    held_.splice(held_.begin(), held_, found);
    return held_.front();
}

bool CorrectionBench::is_open(const std::string& case_id) const { return find(case_id) != nullptr; }

Result<void> CorrectionBench::open(const std::string& case_id, const Volume& volume,
                                   const TraceRequest& request, const Progress& progress) {
    if (is_open(case_id)) return {};
    auto session = TraceSession::open(volume, request, progress);
    if (!session) return tl::unexpected(session.error());
    auto held = std::shared_ptr<Held>(new Held{case_id, {}, std::move(*session)});
    const std::lock_guard lock(mutex_);
    held_.remove_if([&](const auto& other) { return other->case_id == case_id; });
    held_.push_front(std::move(held));
    if (held_.size() > most_held) held_.pop_back();
    return {};
}

Result<Tooth> CorrectionBench::edited(const std::string& case_id, const std::vector<Edit>& edits) {
    const auto held = find(case_id);
    if (!held) {
        return fail(ErrorCode::NotFound, "the tooth is not open for correcting", case_id,
                    "open it first");
    }
    const std::lock_guard lock(held->mutex);
    return apply(held->session, edits);
}

}  // namespace anfract::server
