#pragma once

#include <list>
#include <memory>
#include <mutex>
#include <nlohmann/json_fwd.hpp>
#include <string>

#include "anfract/base/progress.h"
#include "anfract/base/result.h"
#include "anfract/record/record.h"
#include "anfract/tracing/trace_session.h"
#include "edit_list.h"

namespace anfract::server {

/// Where traced teeth are corrected by hand: how each case was traced and its list of edits in the
/// record, and for the cases worked on last what tracing prepared in memory. All members may be
/// called from any thread.
class CorrectionBench {
  public:
    explicit CorrectionBench(const record::Record& record) : record_(record) {}

    /// Remembers how a case was traced. Errors: Io.
    Result<void> remember(const std::string& case_id, const TraceRequest& request,
                          const std::string& author) const;

    /// How it was traced. Errors: NotFound for a case that was not traced here.
    Result<TraceRequest> request(const std::string& case_id) const;

    /// Its corrections; empty for a case that has none.
    Result<EditList> edits(const std::string& case_id) const;

    /// Who made them and when: `made` and `undone_made`, in the order of the edits, each an
    /// {"author", "at"}; empty for those kept before that was noted.
    nlohmann::json makers(const std::string& case_id) const;

    /// Stores its corrections; those that were not there before bear the author. Errors: NotFound,
    /// Io.
    Result<void> keep(const std::string& case_id, const EditList& list,
                      const std::string& author) const;

    /// Takes a case off the bench. Its edits stay in the record: a deleted case can be brought
    /// back.
    void forget(const std::string& case_id);

    bool is_open(const std::string& case_id) const;

    /// Traces again and keeps what was prepared; at once if it is open. Errors: those of
    /// TraceSession::open.
    Result<void> open(const std::string& case_id, const Volume& volume, const TraceRequest& request,
                      const Progress& progress);

    /// The tooth after these edits. @pre is open, else NotFound. Errors: those of
    /// TraceSession::edited
    Result<Tooth> edited(const std::string& case_id, const std::vector<Edit>& edits);

  private:
    /// A tooth on the bench; one request at a time works on it.
    struct Held {
        std::string case_id;
        std::mutex mutex;
        TraceSession session;
    };
    static constexpr std::size_t most_held = 2;  ///< 60 to 150 MB each

    Result<nlohmann::json> stored(const std::string& case_id) const;
    Result<void> store(const std::string& case_id, const nlohmann::json& document,
                       const std::string& author) const;
    std::shared_ptr<Held> find(const std::string& case_id) const;

    const record::Record& record_;
    mutable std::mutex mutex_;
    mutable std::list<std::shared_ptr<Held>> held_;  ///< latest first
};

}  // namespace anfract::server
