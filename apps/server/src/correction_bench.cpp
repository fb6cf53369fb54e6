#include "correction_bench.h"

#include <algorithm>
#include <nlohmann/json.hpp>

#include "anfract/base/json_text.h"
#include "anfract/record/instant.h"
#include "trace_request_json.h"

namespace anfract::server {
using nlohmann::json;

namespace {

/// Who made each edit of a list, and when: as was stored of an equal one, else `author` now.
json makers_of(const json& edits, json& known, const std::string& author) {
    json makers = json::array();
    for (const json& edit : edits) {
        const auto equal = std::find_if(known.begin(), known.end(),
                                        [&](const json& one) { return one.at(0) == edit; });
        if (equal == known.end()) {
            makers.push_back({{"author", author}, {"at", record::now_text()}});
        } else {
            makers.push_back(equal->at(1));
            known.erase(equal);
        }
    }
    return makers;
}

/// The edits of a stored document, undone ones too, each with its maker.
json known_makers(const json& document) {
    json known = json::array();
    for (const auto& [edits, makers] : {std::pair{"edits", "made"}, {"undone", "undone_made"}}) {
        const json list = document.value(edits, json::array());
        const json by = document.value(makers, json::array());
        if (!list.is_array() || !by.is_array()) continue;
        for (std::size_t i = 0; i < list.size() && i < by.size(); ++i)
            known.push_back({list[i], by[i]});
    }
    return known;
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
    return store(case_id, {{"request", to_json(request)}}, author);
}

Result<TraceRequest> CorrectionBench::request(const std::string& case_id) const {
    const auto document = stored(case_id);
    if (!document) return tl::unexpected(document.error());
    return trace_request_of(document->at("request"));
}

Result<EditList> CorrectionBench::edits(const std::string& case_id) const {
    const auto document = stored(case_id);
    return document ? edit_list_of(*document) : EditList{};
}

json CorrectionBench::makers(const std::string& case_id) const {
    const auto document = stored(case_id);
    json makers{{"made", json::array()}, {"undone_made", json::array()}};
    for (auto& [key, list] : makers.items()) {
        if (document && document->contains(key) && document->at(key).is_array())
            list = document->at(key);
    }
    return makers;
}

Result<void> CorrectionBench::keep(const std::string& case_id, const EditList& list,
                                   const std::string& author) const {
    auto document = stored(case_id);
    if (!document) return tl::unexpected(document.error());
    json known = known_makers(*document);
    document->update(to_json(list));
    (*document)["made"] = makers_of(document->at("edits"), known, author);
    (*document)["undone_made"] = makers_of(document->at("undone"), known, author);
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
