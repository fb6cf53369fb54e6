#include "case_shelf.h"

#include <algorithm>

#include "anfract/base/json_document.h"
#include "anfract/tooth/tooth_file.h"

namespace anfract::server {
using nlohmann::json;

namespace {

Error no_such_case(const std::string& id) {
    return {ErrorCode::NotFound, "there is no such case", id, "ask for the list of cases"};
}

std::optional<CaseRecord> record_from(const Result<json>& stored, const std::string& id) {
    if (!stored || !stored->is_object()) return std::nullopt;
    CaseRecord record;
    try {
        record = {id,
                  stored->value("scan", ""),
                  stored->value("fdi", ""),
                  stored->value("label", ""),
                  stored->value("invented", false),
                  stored->value("created", "")};
    } catch (const json::exception&) {
        return std::nullopt;
    }
    return record;
}

}  // namespace

json to_json(const CaseRecord& record) {
    return {{"id", record.id},       {"scan", record.scan},         {"fdi", record.fdi},
            {"label", record.label}, {"invented", record.invented}, {"created", record.created}};
}

CaseShelf::CaseShelf(const DataDirectory& directory) : directory_(directory) {
    for (const std::string& id : ids_below(directory.cases())) {
        const auto record = record_from(read_json(directory.cases() / id / "case.json"), id);
        if (record) records_[id] = *record;
    }
}

std::vector<CaseRecord> CaseShelf::list() const {
    std::vector<CaseRecord> all;
    {
        const std::lock_guard lock(mutex_);
        for (const auto& [id, record] : records_) all.push_back(record);
    }
    std::stable_sort(all.begin(), all.end(), [](const CaseRecord& a, const CaseRecord& b) {
        return a.created > b.created;
    });
    return all;
}

Result<CaseRecord> CaseShelf::add(const Tooth& tooth, const std::string& scan,
                                  const std::string& label) {
    const json document = tooth_to_json(tooth);
    const std::string text = document.dump();
    // What could not be read back must not be stored.
    const auto readable =
        parse_document(text, "anfract.tooth", "tooth").and_then([](const json& parsed) {
            return tooth_from_json(parsed, "tooth");
        });
    if (!readable) return tl::unexpected(readable.error());
    const CaseRecord record{new_id(), scan, tooth.fdi, label, tooth.invented, utc_now()};
    if (auto added = add_entry(directory_.cases() / record.id,
                               {{"case.json", to_json(record).dump(1)}, {"tooth.json", text}});
        !added) {
        return tl::unexpected(added.error());
    }
    const std::lock_guard lock(mutex_);
    records_[record.id] = record;
    return record;
}

Result<std::shared_ptr<CaseWork>> CaseShelf::find(const std::string& id) {
    const std::lock_guard lock(mutex_);
    const auto record = records_.find(id);
    if (record == records_.end()) return tl::unexpected(no_such_case(id));
    std::shared_ptr<CaseWork>& work = open_[id];
    if (!work) {
        const std::filesystem::path file = directory_.cases() / id / "tooth.json";
        const Result<json> document = read_document(file, "anfract.tooth");
        if (!document) return tl::unexpected(document.error());
        Result<Tooth> tooth = tooth_from_json(*document, file.string());
        if (!tooth) return tl::unexpected(tooth.error());
        work = std::make_shared<CaseWork>(record->second, std::move(*tooth), *document);
    }
    return work;
}

Result<void> CaseShelf::remove(const std::string& id) {
    const std::lock_guard lock(mutex_);
    if (records_.erase(id) == 0) return tl::unexpected(no_such_case(id));
    open_.erase(id);
    std::error_code error;
    std::filesystem::remove_all(directory_.cases() / id, error);
    if (error)
        return fail(ErrorCode::Io, "cannot be removed (" + error.message() + ")", id,
                    "check the rights");
    return {};
}

}  // namespace anfract::server
