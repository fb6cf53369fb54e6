#include "job_queue.h"

#include <algorithm>
#include <exception>

#include "data_directory.h"

namespace anfract::server {

JobQueue::JobQueue(unsigned running_at_most) {
    for (unsigned i = 0; i < std::max(1u, running_at_most); ++i)
        threads_.emplace_back([this] { run_jobs(); });
}

JobQueue::~JobQueue() { stop(); }

std::optional<std::string> JobQueue::submit(Work work) {
    auto job = std::make_shared<Job>();
    job->work = std::move(work);
    job->state.stage = "waiting";
    // The job owns its progress, which therefore must not own the job.
    job->progress = std::make_unique<Progress>(
        [weak = std::weak_ptr<Job>(job)](double fraction, std::string_view stage) {
            if (const auto self = weak.lock()) {
                change(*self, [&](JobState& state) {
                    state.fraction = std::clamp(fraction, 0.0, 1.0);
                    state.stage = stage;
                });
            }
        });
    const std::lock_guard lock(mutex_);
    if (stopping_ || waiting_.size() >= most_waiting) return std::nullopt;
    const std::string id = new_id();
    jobs_[id] = std::move(job);
    waiting_.push_back(id);
    changed_.notify_one();
    return id;
}

std::optional<JobState> JobQueue::state(const std::string& id) const {
    const std::shared_ptr<Job> job = find(id);
    if (!job) return std::nullopt;
    const std::lock_guard lock(job->mutex);
    return job->state;
}

bool JobQueue::cancel(const std::string& id) {
    const std::shared_ptr<Job> job = find(id);
    if (!job) return false;
    job->progress->cancel();
    // One that has not begun ends here; one that runs ends when its work notices.
    change(*job, [](JobState& state) {
        if (state.phase == JobPhase::Queued) state.phase = JobPhase::Cancelled;
    });
    return true;
}

bool JobQueue::listen(const std::string& id, Listener listener) {
    const std::shared_ptr<Job> job = find(id);
    if (!job) return false;
    const std::lock_guard lock(job->mutex);
    if (listener(job->state) && !job->state.finished())
        job->listeners.push_back(std::move(listener));
    return true;
}

void JobQueue::stop() {
    std::vector<std::shared_ptr<Job>> all;
    {
        const std::lock_guard lock(mutex_);
        stopping_ = true;
        for (const auto& [id, job] : jobs_) all.push_back(job);
        changed_.notify_all();
    }
    for (const auto& job : all) {
        job->progress->cancel();
        change(*job, [](JobState& state) {
            if (state.phase == JobPhase::Queued) state.phase = JobPhase::Cancelled;
        });
    }
    for (std::thread& thread : threads_) {
        if (thread.joinable()) thread.join();
    }
}

void JobQueue::run_jobs() {
    while (true) {
        std::string id;
        std::shared_ptr<Job> job;
        {
            std::unique_lock lock(mutex_);
            changed_.wait(lock, [&] { return stopping_ || !waiting_.empty(); });
            if (stopping_) return;
            id = waiting_.front();
            waiting_.pop_front();
            job = jobs_.at(id);
        }
        run(*job);
        remember_finished(id);
    }
}

void JobQueue::run(Job& job) {
    bool begins = false;
    change(job, [&](JobState& state) {
        begins = state.phase == JobPhase::Queued;
        if (begins) {
            state.phase = JobPhase::Running;
            state.stage = "starting";
        }
    });
    if (!begins) return;  // cancelled while it waited
    Result<std::string> result = fail(ErrorCode::Cancelled, "");
    try {
        result = job.work(*job.progress);
    } catch (const std::bad_alloc&) {
        result = fail(ErrorCode::Io, "there is not enough memory", "", "close other programs");
    } catch (const std::exception& defect) {
        result = fail(ErrorCode::Io, std::string("unexpected failure: ") + defect.what(), "",
                      "please report this");
    }
    job.work = nullptr;  // with whatever it holds, such as a scan
    change(job, [&](JobState& state) {
        if (result) {
            state.phase = JobPhase::Done;
            state.fraction = 1;
            state.result = *result;
        } else if (result.error().code == ErrorCode::Cancelled) {
            state.phase = JobPhase::Cancelled;
        } else {
            state.phase = JobPhase::Failed;
            state.sentence = result.error().sentence();
        }
    });
}

void JobQueue::change(Job& job, const std::function<void(JobState&)>& edit) {
    const std::lock_guard lock(job.mutex);
    if (job.state.finished()) return;
    edit(job.state);
    std::erase_if(job.listeners, [&](const Listener& listener) { return !listener(job.state); });
    if (job.state.finished()) job.listeners.clear();
}

std::shared_ptr<JobQueue::Job> JobQueue::find(const std::string& id) const {
    const std::lock_guard lock(mutex_);
    const auto found = jobs_.find(id);
    return found == jobs_.end() ? nullptr : found->second;
}

void JobQueue::remember_finished(const std::string& id) {
    const std::lock_guard lock(mutex_);
    finished_.push_back(id);
    while (finished_.size() > most_remembered) {
        jobs_.erase(finished_.front());
        finished_.pop_front();
    }
}

}  // namespace anfract::server
