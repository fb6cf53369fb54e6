#pragma once

#include <filesystem>
#include <memory>
#include <string>

#include "anfract/record/access_trail.h"
#include "anfract/record/accounts.h"
#include "anfract/record/case_book.h"
#include "anfract/record/case_notes.h"
#include "anfract/record/file_vault.h"
#include "anfract/record/scan_book.h"
#include "anfract/record/stock.h"
#include "anfract/record/store.h"
#include "anfract/record/tray_book.h"
#include "anfract/record/treatment_log.h"

namespace anfract::record {

/// Where a record lies.
struct RecordPlace {
    std::string database;         ///< as Store::open takes it
    std::filesystem::path files;  ///< the folder of the vault

    /// The place below a data directory: `record.sqlite` and `files/`, unless given otherwise.
    static RecordPlace below(const std::filesystem::path& data, const std::string& database = "",
                             const std::filesystem::path& files = {});
};

/// A record that is open: the database, the files beside it, and what is kept in them.
class Record {
  public:
    /// Opens it, making it if there is none. Errors: those of Store::open and FileVault::open.
    static Result<std::unique_ptr<Record>> open(const RecordPlace& place);
    Record(const Record&) = delete;
    Record& operator=(const Record&) = delete;

    const Store& store() const { return *store_; }
    const FileVault& vault() const { return vault_; }
    const CaseBook& cases() const { return cases_; }
    const CaseNotes& notes() const { return notes_; }
    const Stock& stock() const { return stock_; }
    const TreatmentLog& log() const { return log_; }
    const ScanBook& scans() const { return scans_; }
    const TrayBook& trays() const { return trays_; }
    const Accounts& accounts() const { return accounts_; }
    const AccessTrail& access() const { return access_; }

  private:
    Record(std::unique_ptr<Store> store, FileVault vault);
    std::unique_ptr<Store> store_;
    FileVault vault_;
    CaseBook cases_;
    CaseNotes notes_;
    Stock stock_;
    TreatmentLog log_;
    ScanBook scans_;
    TrayBook trays_;
    Accounts accounts_;
    AccessTrail access_;
};

}  // namespace anfract::record
