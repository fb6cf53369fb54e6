#include "anfract/record/record.h"

namespace anfract::record {

RecordPlace RecordPlace::below(const std::filesystem::path& data, const std::string& database,
                               const std::filesystem::path& files) {
    return {database.empty() ? "sqlite:" + (data / "record.sqlite").string() : database,
            files.empty() ? data / "files" : files};
}

Result<std::unique_ptr<Record>> Record::open(const RecordPlace& place) {
    Result<FileVault> vault = FileVault::open(place.files);
    if (!vault) return tl::unexpected(vault.error());
    Result<std::unique_ptr<Store>> store = Store::open(place.database);
    if (!store) return tl::unexpected(store.error());
    return std::unique_ptr<Record>(new Record(std::move(*store), std::move(*vault)));
}

Record::Record(std::unique_ptr<Store> store, FileVault vault)
    : store_(std::move(store)),
      vault_(std::move(vault)),
      cases_(*store_, vault_),
      notes_(*store_),
      stock_(*store_),
      log_(*store_),
      scans_(*store_),
      trays_(*store_),
      accounts_(*store_),
      access_(*store_) {}

}  // namespace anfract::record
