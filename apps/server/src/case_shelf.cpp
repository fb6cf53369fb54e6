#include "case_shelf.h"

#include "anfract/base/json_document.h"
#include "anfract/tooth/tooth_file.h"

namespace anfract::server {
using nlohmann::json;

namespace {

Result<Tooth> tooth_of(const json& document) { return tooth_from_json(document, "tooth"); }

/// A tooth as the file that is stored. What could not be read back must not be stored.
Result<record::NewCaseFile> file_of(const Tooth& tooth) {
    std::string text = tooth_to_json(tooth).dump();
    const auto readable = parse_document(text, "anfract.tooth", "tooth").and_then(tooth_of);
    if (!readable) return tl::unexpected(readable.error());
    return record::NewCaseFile{"tooth", std::move(text), "tooth.json"};
}

}  // namespace

json to_json(const CaseRecord& record) {
    return {{"id", record.id},       {"scan", record.scan},         {"fdi", record.fdi},
            {"label", record.label}, {"invented", record.invented}, {"created", record.created}};
}

Result<CaseRecord> CaseShelf::add(const Tooth& tooth, const std::string& scan,
                                  const std::string& label, const std::string& author) {
    const Result<record::NewCaseFile> file = file_of(tooth);
    if (!file) return tl::unexpected(file.error());
    return record_.cases().add({"", "", scan, tooth.fdi, label, tooth.invented}, *file, author);
}

Result<std::int64_t> CaseShelf::change(const std::string& id, const Tooth& tooth, std::int64_t base,
                                       const std::string& author) {
    const Result<record::NewCaseFile> file = file_of(tooth);
    if (!file) return tl::unexpected(file.error());
    const auto stored = record_.cases().add_file(id, *file, author, base);
    if (!stored) return tl::unexpected(stored.error());
    return stored->version;
}

Result<std::shared_ptr<CaseWork>> CaseShelf::find(const std::string& id) {
    const auto entry = record_.cases().find(id);
    if (!entry) return tl::unexpected(entry.error());
    // Asked each time: another seat may have changed the tooth.
    const auto file = record_.cases().file(id, "tooth");
    if (!file) return tl::unexpected(file.error());
    const std::lock_guard lock(mutex_);
    std::shared_ptr<CaseWork>& work = open_[id];
    if (!work || work->tooth_version != file->version) {
        const auto text = record_.vault().get(file->sha256);
        if (!text) return tl::unexpected(text.error());
        Result<json> document = parse_document(*text, "anfract.tooth", "the tooth of case " + id);
        if (!document) return tl::unexpected(document.error());
        Result<Tooth> tooth = tooth_of(*document);
        if (!tooth) return tl::unexpected(tooth.error());
        work = std::make_shared<CaseWork>(*entry, file->version, std::move(*tooth),
                                          std::move(*document));
    }
    return work;
}

Result<MeasuredDepths> CaseShelf::measured_depths_mm(const CaseWork& work) const {
    const auto entries = record_.log().entries(work.record.id);
    if (!entries) return tl::unexpected(entries.error());
    MeasuredDepths depths_mm = record::measured_depths_mm(*entries);
    // A canal found at the chair that the scan did not show has no plan to be changed.
    std::erase_if(depths_mm,
                  [&](const auto& one) { return work.tooth.find(one.first) == nullptr; });
    return depths_mm;
}

}  // namespace anfract::server
