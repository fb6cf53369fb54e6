#include "schema_steps.h"

namespace anfract::record {
namespace {

/// Cases, their files and versions, and the treatment log.
const std::vector<std::string> cases_and_log{
    "CREATE TABLE cases (id TEXT PRIMARY KEY, created TEXT NOT NULL, scan TEXT NOT NULL,"
    " fdi TEXT NOT NULL, label TEXT NOT NULL, invented BIGINT NOT NULL,"
    " set_aside TEXT NOT NULL, words TEXT NOT NULL)",
    "CREATE INDEX cases_by_age ON cases (created)",
    "CREATE TABLE case_files (case_id TEXT NOT NULL REFERENCES cases (id), kind TEXT NOT NULL,"
    " version BIGINT NOT NULL, made TEXT NOT NULL, author TEXT NOT NULL, name TEXT NOT NULL,"
    " media_type TEXT NOT NULL, sha256 TEXT NOT NULL, bytes BIGINT NOT NULL,"
    " PRIMARY KEY (case_id, kind, version))",
    "CREATE TABLE case_records (case_id TEXT NOT NULL REFERENCES cases (id),"
    " version BIGINT NOT NULL, made TEXT NOT NULL, author TEXT NOT NULL, content TEXT NOT NULL,"
    " PRIMARY KEY (case_id, version))",
    "CREATE TABLE log_entries (case_id TEXT NOT NULL REFERENCES cases (id),"
    " sequence BIGINT NOT NULL, entry_id TEXT NOT NULL, sent TEXT NOT NULL,"
    " received TEXT NOT NULL, author TEXT NOT NULL, previous_sha256 TEXT NOT NULL, sha256 TEXT NOT "
    "NULL,"
    " PRIMARY KEY (case_id, sequence), UNIQUE (case_id, entry_id))",
};

/// Scans that were opened or sent. `content` is the scan's description; `sha256` is empty for one
/// that lies outside.
const std::vector<std::string> scans{
    "CREATE TABLE scans (id TEXT PRIMARY KEY, created TEXT NOT NULL, content TEXT NOT NULL,"
    " name TEXT NOT NULL, sha256 TEXT NOT NULL)",
};

/// The stock. `stock_uses` has a line for each log entry that tells of a device: what is counted.
const std::vector<std::string> stock{
    "CREATE TABLE stock_items (id TEXT PRIMARY KEY, device TEXT NOT NULL, minimum BIGINT NOT NULL)",
    "CREATE TABLE stock_movements (sequence BIGINT PRIMARY KEY,"
    " item TEXT NOT NULL REFERENCES stock_items (id), kind TEXT NOT NULL, lot TEXT NOT NULL,"
    " expires TEXT NOT NULL, pieces BIGINT NOT NULL, note TEXT NOT NULL, made TEXT NOT NULL,"
    " author TEXT NOT NULL)",
    "CREATE TABLE stock_uses (case_id TEXT NOT NULL REFERENCES cases (id), entry_id TEXT NOT NULL,"
    " device TEXT NOT NULL, visit TEXT NOT NULL, used BIGINT NOT NULL, broken BIGINT NOT NULL,"
    " PRIMARY KEY (case_id, entry_id))",
    "CREATE INDEX stock_uses_by_device ON stock_uses (device)",
};

/// Who may sign in, who looked at what, and the trays that were kept before there was a stock.
const std::vector<std::string> accounts_and_trays{
    "CREATE TABLE accounts (name TEXT PRIMARY KEY, role TEXT NOT NULL, password TEXT NOT NULL,"
    " created TEXT NOT NULL, changed TEXT NOT NULL, disabled TEXT NOT NULL)",
    "CREATE TABLE access_lines (sequence BIGINT PRIMARY KEY, at TEXT NOT NULL,"
    " account TEXT NOT NULL, what TEXT NOT NULL, subject TEXT NOT NULL,"
    " previous_sha256 TEXT NOT NULL, sha256 TEXT NOT NULL)",
    "CREATE TABLE trays (version BIGINT PRIMARY KEY, made TEXT NOT NULL, author TEXT NOT NULL,"
    " content TEXT NOT NULL)",
};

Column text(const char* name, int key = 0) { return {name, ColumnType::Text, key}; }
Column number(const char* name, int key = 0) { return {name, ColumnType::Integer, key}; }

}  // namespace

const std::vector<std::vector<std::string>>& schema_steps() {
    static const std::vector<std::vector<std::string>> steps{cases_and_log, scans, stock,
                                                             accounts_and_trays};
    return steps;
}

std::vector<Table> tables_after(int step) {
    std::vector<Table> tables{
        {"cases",
         {text("id", 1), text("created"), text("scan"), text("fdi"), text("label"),
          number("invented"), text("set_aside"), text("words")}},
        {"case_files",
         {text("case_id", 1), text("kind", 2), number("version", 3), text("made"), text("author"),
          text("name"), text("media_type"), text("sha256"), number("bytes")}},
        {"case_records",
         {text("case_id", 1), number("version", 2), text("made"), text("author"), text("content")}},
        {"log_entries",
         {text("case_id", 1), number("sequence", 2), text("entry_id"), text("sent"),
          text("received"), text("author"), text("previous_sha256"), text("sha256")}},
    };
    if (step >= 2) {
        tables.push_back(
            {"scans",
             {text("id", 1), text("created"), text("content"), text("name"), text("sha256")}});
    }
    if (step >= 3) {
        tables.push_back({"stock_items", {text("id", 1), text("device"), number("minimum")}});
        tables.push_back(
            {"stock_movements",
             {number("sequence", 1), text("item"), text("kind"), text("lot"), text("expires"),
              number("pieces"), text("note"), text("made"), text("author")}});
        tables.push_back({"stock_uses",
                          {text("case_id", 1), text("entry_id", 2), text("device"), text("visit"),
                           number("used"), number("broken")}});
    }
    if (step >= 4) {
        tables.push_back({"accounts",
                          {text("name", 1), text("role"), text("password"), text("created"),
                           text("changed"), text("disabled")}});
        tables.push_back({"access_lines",
                          {number("sequence", 1), text("at"), text("account"), text("what"),
                           text("subject"), text("previous_sha256"), text("sha256")}});
        tables.push_back(
            {"trays", {number("version", 1), text("made"), text("author"), text("content")}});
    }
    return tables;
}

}  // namespace anfract::record
