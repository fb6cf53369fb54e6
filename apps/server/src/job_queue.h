#pragma once

#include <condition_variable>
#include <deque>
#include <functional>
#include <map>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <thread>
#include <vector>

#include "anfract/base/progress.h"
#include "anfract/base/result.h"

namespace anfract::server {

enum class JobPhase { Queued, Running, Done, Failed, Cancelled };

/// What is known of a job at one moment.
struct JobState {
    JobPhase phase = JobPhase::Queued;
    double fraction = 0;
    std::string stage;     ///< while queued or running
    std::string result;    ///< when done: what the work returned
    std::string sentence;  ///< when failed: why

    bool finished() const { return phase >= JobPhase::Done; }
};

/// Long computations, a few at a time and the others in line, with any number of listeners each.
///
/// Jobs live as long as the process; the last hundred finished ones are remembered, so that a
/// listener that comes back late still learns the end. All members may be called from any thread.
class JobQueue {
  public:
    using Work = std::function<Result<std::string>(const Progress&)>;
    /// Told every change in order, the current state first. Returns false when it wants no more.
    /// Must return at once and must not call the queue.
    using Listener = std::function<bool(const JobState&)>;

    explicit JobQueue(unsigned running_at_most);
    JobQueue(const JobQueue&) = delete;
    JobQueue& operator=(const JobQueue&) = delete;
    ~JobQueue();  ///< as stop()

    /// The job's id, or nothing when too many are in line.
    std::optional<std::string> submit(Work work);

    std::optional<JobState> state(const std::string& id) const;

    /// False when there is no such job. A finished job stays as it is.
    bool cancel(const std::string& id);

    /// False when there is no such job.
    bool listen(const std::string& id, Listener listener);

    /// Cancels everything and waits until nothing runs.
    void stop();

  private:
    struct Job {
        std::mutex mutex;
        JobState state;
        std::vector<Listener> listeners;
        Work work;
        std::unique_ptr<Progress> progress;
    };
    static constexpr std::size_t most_waiting = 64, most_remembered = 100;

    void run_jobs();
    void run(Job& job);
    static void change(Job& job, const std::function<void(JobState&)>& edit);
    std::shared_ptr<Job> find(const std::string& id) const;
    void remember_finished(const std::string& id);

    mutable std::mutex mutex_;
    std::condition_variable changed_;
    std::map<std::string, std::shared_ptr<Job>> jobs_;
    std::deque<std::string> waiting_, finished_;
    bool stopping_ = false;
    std::vector<std::thread> threads_;
};

}  // namespace anfract::server
