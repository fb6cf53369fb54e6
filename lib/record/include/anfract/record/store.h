#pragma once

#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <type_traits>

#include "anfract/base/result.h"

namespace soci {
class session;
}

namespace anfract::record {

/// The database of the record: SQLite in one file, or PostgreSQL for several seats, with one schema
/// and the same statements. All members may be called from any thread.
class Store {
  public:
    /// @param address  "sqlite:PATH", or a PostgreSQL connection URI "postgresql://..."
    /// Brings an older schema forward. Errors: Io (cannot be opened, is read-only), BadInput (is
    /// not a store, or was written by a newer program), DiskFull.
    /// @param step  how far to bring the schema, for a backup of an older one
    static Result<std::unique_ptr<Store>> open(const std::string& address,
                                               int step = newest_step());
    Store(const Store&) = delete;
    Store& operator=(const Store&) = delete;
    ~Store();

    bool is_postgresql() const;

    /// Runs `work(session)`, which returns a Result, in a transaction: what it wrote is kept, on
    /// the disk, if and only if it succeeds and this returns its value. Transactions behave as if
    /// they had run one after the other; `work` may be called again when they met. Errors: those of
    /// `work`; Io, DiskFull.
    template <class Work>
    std::invoke_result_t<Work, soci::session&> write(const Work& work) const {
        return run(true, work);
    }
    /// The same for work that only reads: all that it reads is of one moment.
    template <class Work>
    std::invoke_result_t<Work, soci::session&> read(const Work& work) const {
        return run(false, work);
    }

    /// The number of the latest step of the schema that this program knows.
    static int newest_step();

  private:
    struct Implementation;
    explicit Store(std::unique_ptr<Implementation> implementation);

    template <class Work>
    std::invoke_result_t<Work, soci::session&> run(bool writes, const Work& work) const {
        using Outcome = std::invoke_result_t<Work, soci::session&>;
        std::optional<Outcome> outcome;
        const Result<void> done = transact(writes, [&](soci::session& sql) -> Result<void> {
            outcome.emplace(work(sql));
            if (!*outcome) return tl::unexpected(outcome->error());
            return {};
        });
        if (!done) return tl::unexpected(done.error());
        return std::move(*outcome);
    }
    Result<void> transact(bool writes,
                          const std::function<Result<void>(soci::session&)>& work) const;

    std::unique_ptr<Implementation> implementation_;
};

}  // namespace anfract::record
