#include "tray_shelf.h"

#include "anfract/base/json_document.h"
#include "anfract/record/instant.h"
#include "anfract/tray/tray_file.h"

namespace anfract::server {

Result<TrayNow> TrayShelf::check(const std::string& text, const std::string& where) {
    Result<nlohmann::json> document = parse_document(text, "anfract.tray", where);
    if (!document) return tl::unexpected(document.error());
    Result<Tray> tray = tray_from_json(*document, where);
    if (!tray) return tl::unexpected(tray.error());
    return TrayNow{std::move(*tray), std::move(*document), 0};
}

Result<std::unique_ptr<TrayShelf>> TrayShelf::open(const record::Record& record) {
    std::unique_ptr<TrayShelf> shelf(new TrayShelf(record));
    const Tray generic = generic_tray();
    shelf->now_ = std::make_shared<const TrayNow>(TrayNow{generic, tray_to_json(generic), 1});
    const auto stored = record.trays().newest();
    if (!stored) return tl::unexpected(stored.error());
    if (*stored) {
        if (const auto readable = check(**stored, "the stored tray"); !readable)
            return tl::unexpected(readable.error());
    }
    return shelf;
}

Result<std::optional<TrayNow>> TrayShelf::stored() const {
    // Asked each time: every logged use changes what is ready, and so may another seat.
    const auto stocked = record_.stock().tray(record::now_text().substr(0, 10));
    if (!stocked) return tl::unexpected(stocked.error());
    std::string text = stocked->is_null() ? "" : stocked->dump();
    if (text.empty()) {
        const auto kept = record_.trays().newest();
        if (!kept) return tl::unexpected(kept.error());
        text = kept->value_or("");
    }
    {
        const std::lock_guard lock(mutex_);
        if (text.empty() || text == text_) return std::optional<TrayNow>();
    }
    auto tray = check(text, "tray");
    if (!tray) return tl::unexpected(tray.error());
    const std::lock_guard lock(mutex_);
    text_ = text;
    return std::optional(std::move(*tray));
}

Result<std::shared_ptr<const TrayNow>> TrayShelf::now() {
    auto changed = stored();
    if (!changed) return tl::unexpected(changed.error());
    const std::lock_guard lock(mutex_);
    if (!*changed) return now_;
    (*changed)->revision = now_->revision + 1;
    now_ = std::make_shared<const TrayNow>(std::move(**changed));
    return now_;
}

Result<nlohmann::json> TrayShelf::devices_to_choose_from() const {
    const auto kept = record_.trays().newest();
    if (!kept) return tl::unexpected(kept.error());
    if (!*kept) return tray_to_json(generic_tray()).at("devices");
    const auto stored = check(**kept, "the stored tray");
    if (!stored) return tl::unexpected(stored.error());
    return stored->document.at("devices");
}

Result<std::shared_ptr<const TrayNow>> TrayShelf::replace(const std::string& text,
                                                          const std::string& author) {
    const auto stocked = record_.stock().tray("");
    if (!stocked) return tl::unexpected(stocked.error());
    if (!stocked->is_null()) {
        return fail(ErrorCode::Conflict, "the tray follows the stock", "tray",
                    "change the stock instead");
    }
    const Result<TrayNow> tray = check(text, "tray");
    if (!tray) return tl::unexpected(tray.error());
    if (auto added = record_.trays().add(tray->document.dump(), author); !added)
        return tl::unexpected(added.error());
    return now();
}

}  // namespace anfract::server
