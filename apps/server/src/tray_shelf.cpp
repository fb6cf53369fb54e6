#include "tray_shelf.h"

#include "anfract/base/file.h"
#include "anfract/base/json_document.h"
#include "anfract/base/refusal_codes.h"
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

Result<std::unique_ptr<TrayShelf>> TrayShelf::open(const DataDirectory& directory,
                                                   const record::Record& record) {
    std::unique_ptr<TrayShelf> shelf(new TrayShelf(directory, record));
    TrayNow now;
    if (std::filesystem::exists(directory.tray_file())) {
        const Result<std::string> text = read_file(directory.tray_file());
        if (!text) return tl::unexpected(text.error());
        Result<TrayNow> stored = check(*text, directory.tray_file().string());
        if (!stored) return tl::unexpected(stored.error());
        now = std::move(*stored);
    } else {
        now.tray = generic_tray();
        now.document = tray_to_json(now.tray);
    }
    now.revision = 1;
    shelf->now_ = std::make_shared<const TrayNow>(std::move(now));
    return shelf;
}

std::shared_ptr<const TrayNow> TrayShelf::now() {
    // Asked each time: every logged use changes what is ready.
    const auto stocked = record_.stock().tray(record::now_text().substr(0, 10));
    const std::lock_guard lock(mutex_);
    if (!stocked || stocked->is_null() || *stocked == now_->document) return now_;
    Result<TrayNow> tray = check(stocked->dump(), "stock");
    if (!tray) return now_;
    tray->revision = now_->revision + 1;
    now_ = std::make_shared<const TrayNow>(std::move(*tray));
    return now_;
}

Result<std::shared_ptr<const TrayNow>> TrayShelf::replace(const std::string& text) {
    const auto stocked = record_.stock().tray("");
    if (!stocked) return tl::unexpected(stocked.error());
    if (!stocked->is_null()) {
        return fail(refused_for_conflict, "the tray follows the stock", "tray",
                    "change the stock instead");
    }
    Result<TrayNow> tray = check(text, "tray");
    if (!tray) return tl::unexpected(tray.error());
    const std::lock_guard lock(mutex_);
    if (auto written = write_private(directory_.tray_file(), tray->document.dump(1)); !written) {
        return tl::unexpected(written.error());
    }
    tray->revision = now_->revision + 1;
    now_ = std::make_shared<const TrayNow>(std::move(*tray));
    return now_;
}

}  // namespace anfract::server
