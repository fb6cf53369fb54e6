#include "anfract/record/store.h"

#include <fcntl.h>
#include <soci/postgresql/soci-postgresql.h>
#include <soci/soci.h>
#include <soci/sqlite3/soci-sqlite3.h>
#include <unistd.h>

#include <chrono>
#include <cstdlib>
#include <thread>

#include "anfract/record/instant.h"
#include "log_uses.h"
#include "rows.h"
#include "schema_steps.h"

namespace anfract::record {
namespace {

constexpr std::size_t connections = 8;  // as many as the server has threads for requests
constexpr int most_tries = 50;          // of transactions that meet on PostgreSQL

/// What to tell the user of a database's complaint. The database's own text may quote values, which
/// are a patient's, so only its kind is passed on.
Error sqlite_error(const soci::sqlite3_soci_error& error) {
    switch (error.result() & 0xff) {
        case SQLITE_FULL:
            return {ErrorCode::NoRoom, "the record cannot be written because the disk is full", "",
                    "make room on the disk and try again"};
        case SQLITE_READONLY:
        case SQLITE_CANTOPEN:
        case SQLITE_PERM:
            return {ErrorCode::Io, "the record cannot be written because its disk is read-only", "",
                    "check the rights of the data directory"};
        case SQLITE_NOTADB:
        case SQLITE_CORRUPT:
            return {ErrorCode::BadInput, "the record is damaged or is not a record", "",
                    "restore it from a backup"};
        case SQLITE_BUSY:
            return {ErrorCode::Io, "the record is in use by another program", "",
                    "try again when it has ended"};
        default:
            return {ErrorCode::Io,
                    "the record cannot be read or written (SQLite " +
                        std::to_string(error.result()) + ")",
                    "", "check the disk and run 'anfract store check'"};
    }
}

Error postgresql_error(const soci::postgresql_soci_error& error) {
    const std::string state = error.sqlstate();
    if (state == "53100") {
        return {ErrorCode::NoRoom, "the record cannot be written because the disk is full", "",
                "make room on the database's disk and try again"};
    }
    return {ErrorCode::Io, "the database refuses (PostgreSQL " + state + ")", "",
            "check that it runs and may be written to"};
}

/// SQLite would make the file for others to read; its -wal and -shm follow the file's mode.
void make_private_file(const std::string& path) {
    const int descriptor = ::open(path.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0600);
    if (descriptor >= 0) ::close(descriptor);
}

/// True when two transactions met and one has to be run again: serialization_failure,
/// deadlock_detected, unique_violation and duplicate_table, which PostgreSQL gives for a key or a
/// table that a transaction it did not see has made.
bool met_another(const soci::postgresql_soci_error& error) {
    const std::string state = error.sqlstate();
    return state == "40001" || state == "40P01" || state == "23505" || state == "42P07";
}

}  // namespace

struct Store::Implementation {
    explicit Implementation(bool is_postgresql) : postgresql(is_postgresql), pool(connections) {}

    bool postgresql;
    mutable soci::connection_pool pool;

    void connect(const std::string& address) {
        for (std::size_t i = 0; i < connections; ++i) {
            soci::session& sql = pool.at(i);
            if (postgresql) {
                sql.open(soci::postgresql, address);
                sql << "SET client_min_messages = warning";
            } else {
                sql.open(soci::sqlite3, "dbname=\"" + address + "\" timeout=20");
                // Readers do not wait for a writer, and what was committed is on the disk.
                sql << "PRAGMA journal_mode = WAL";
                sql << "PRAGMA synchronous = FULL";
                sql << "PRAGMA foreign_keys = ON";
            }
        }
    }

    void begin(soci::session& sql, bool writes) const {
        if (!postgresql) {
            sql << (writes ? "BEGIN IMMEDIATE" : "BEGIN");
        } else {
            sql << (writes ? "BEGIN ISOLATION LEVEL SERIALIZABLE"
                           : "BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY");
        }
    }

    static void roll_back(soci::session& sql) {
        try {
            sql << "ROLLBACK";
        } catch (const soci::soci_error&) {
            // The database has rolled back by itself, or the connection is lost.
        }
    }
};

namespace {

Result<void> bring_forward(soci::session& sql, bool postgresql, int wanted) {
    if (postgresql) {  // one program at a time
        sql << "LOCK TABLE schema_steps IN ACCESS EXCLUSIVE MODE";
    }
    int step = 0;
    sql << "SELECT COALESCE(MAX(step), 0) FROM schema_steps", soci::into(step);
    if (step > Store::newest_step()) {
        return fail(ErrorCode::BadInput,
                    "was written by a newer program (step " + std::to_string(step) +
                        "; this one knows " + std::to_string(Store::newest_step()) + ")",
                    "the record", "use the newer program");
    }
    for (; step < wanted; ++step) {
        for (const std::string& statement : schema_steps()[static_cast<std::size_t>(step)])
            sql << statement;
        if (step + 1 == 3) count_uses_of_old_logs(sql);
        const int done = step + 1;
        const std::string now = now_text();
        sql << "INSERT INTO schema_steps (step, taken) VALUES (:step, :taken)", soci::use(done),
            soci::use(now);
    }
    return {};
}

}  // namespace

Store::Store(std::unique_ptr<Implementation> implementation)
    : implementation_(std::move(implementation)) {}
Store::~Store() = default;

bool Store::is_postgresql() const { return implementation_->postgresql; }

int Store::newest_step() { return static_cast<int>(schema_steps().size()); }

Result<std::unique_ptr<Store>> Store::open(const std::string& address, int step) {
    const bool postgresql =
        address.starts_with("postgresql://") || address.starts_with("postgres://");
    const bool sqlite = address.starts_with("sqlite:");
    if ((!postgresql && !sqlite) || address.find('"') != std::string::npos) {
        return fail(ErrorCode::BadInput, "is not the address of a record", address,
                    "give sqlite:PATH or postgresql://USER@HOST/NAME");
    }
    // A password in the address must not appear in a message.
    const std::string where = sqlite ? address.substr(7) : "PostgreSQL";
    std::unique_ptr<Store> store(new Store(std::make_unique<Implementation>(postgresql)));
    try {
        if (sqlite) make_private_file(where);
        store->implementation_->connect(sqlite ? where : address);
    } catch (const soci::sqlite3_soci_error& error) {
        Error told = sqlite_error(error);
        told.where = where;
        return tl::unexpected(told);
    } catch (const soci::soci_error&) {
        return fail(ErrorCode::Io, "the database cannot be reached", where,
                    "check that it runs, and the address, user and password");
    }
    Result<void> ready = store->write([&](soci::session& sql) -> Result<void> {
        sql << "CREATE TABLE IF NOT EXISTS schema_steps (step BIGINT PRIMARY KEY, taken TEXT NOT "
               "NULL)";
        return bring_forward(sql, postgresql, step);
    });
    if (!ready) {
        if (ready.error().where.empty()) ready.error().where = where;
        return tl::unexpected(ready.error());
    }
    return store;
}

Result<void> Store::transact(bool writes,
                             const std::function<Result<void>(soci::session&)>& work) const {
    soci::session sql(implementation_->pool);
    for (int tries = 1;; ++tries) {
        try {
            implementation_->begin(sql, writes);
            const Result<void> done = work(sql);
            sql << (done ? "COMMIT" : "ROLLBACK");
            return done;
        } catch (const soci::postgresql_soci_error& error) {
            Implementation::roll_back(sql);
            if (!met_another(error) || tries == most_tries)
                return tl::unexpected(postgresql_error(error));
        } catch (const soci::sqlite3_soci_error& error) {
            Implementation::roll_back(sql);
            return tl::unexpected(sqlite_error(error));
        } catch (const soci::soci_error&) {
            Implementation::roll_back(sql);
            return fail(ErrorCode::Io, "the database cannot be reached", "",
                        "check that it runs and try again");
        } catch (const DamagedDocument& damage) {
            Implementation::roll_back(sql);
            return fail(ErrorCode::BadInput, std::string("a document in it ") + damage.what(),
                        "the record", "check it, and restore it from a backup");
        } catch (...) {  // a defect or too little memory in the work
            Implementation::roll_back(sql);
            throw;
        }
        // The random part keeps two seats from meeting again and again.
        std::this_thread::sleep_for(std::chrono::milliseconds(1 + std::rand() % (4 * tries)));
    }
}

}  // namespace anfract::record
