#include "job_queue.h"

#include <gtest/gtest.h>

#include <chrono>
#include <future>

namespace anfract::server {
namespace {

using namespace std::chrono_literals;

/// Work that begins when told and ends when told, or when it is cancelled.
struct Gate {
    std::promise<void> began, may_end;
    std::shared_future<void> end = may_end.get_future().share();

    JobQueue::Work work(std::string result = "result") {
        return [this, result](const Progress& progress) -> Result<std::string> {
            began.set_value();
            while (end.wait_for(1ms) != std::future_status::ready) {
                if (progress.cancelled()) return fail(ErrorCode::Cancelled, "cancelled");
            }
            return result;
        };
    }
};

JobState await_end(JobQueue& queue, const std::string& id) {
    std::promise<JobState> end;
    queue.listen(id, [&](const JobState& state) {
        if (!state.finished()) return true;
        end.set_value(state);
        return false;
    });
    auto future = end.get_future();
    if (future.wait_for(10s) != std::future_status::ready)
        throw std::runtime_error("the job does not end");
    return future.get();
}

TEST(JobQueue, TellsProgressInOrderAndThenTheResult) {
    JobQueue queue(1);
    std::promise<void> go;
    const auto id = queue.submit([&](const Progress& progress) -> Result<std::string> {
        go.get_future().wait();
        for (int i = 0; i <= 10; ++i) progress.report(i / 10.0, "counting");
        return std::string("case-1");
    });
    std::mutex mutex;
    std::vector<JobState> seen;
    queue.listen(*id, [&](const JobState& state) {
        const std::lock_guard lock(mutex);
        seen.push_back(state);
        return true;
    });
    go.set_value();
    EXPECT_EQ(await_end(queue, *id).result, "case-1");
    const std::lock_guard lock(mutex);
    ASSERT_GE(seen.size(), 12u);
    for (std::size_t i = 1; i < seen.size(); ++i) EXPECT_GE(seen[i].fraction, seen[i - 1].fraction);
    EXPECT_EQ(seen.back().phase, JobPhase::Done);
}

TEST(JobQueue, ALateListenerGetsTheEnd) {
    JobQueue queue(1);
    const auto id =
        queue.submit([](const Progress&) -> Result<std::string> { return std::string("x"); });
    await_end(queue, *id);
    int calls = 0;
    EXPECT_TRUE(queue.listen(*id, [&](const JobState& state) {
        EXPECT_EQ(state.result, "x");
        ++calls;
        return true;
    }));
    EXPECT_EQ(calls, 1);
}

TEST(JobQueue, RunsAsManyAsAllowedAndTheOthersInTheirOrder) {
    JobQueue queue(1);
    Gate first, second;
    const auto a = queue.submit(first.work("a"));
    const auto b = queue.submit(second.work("b"));
    first.began.get_future().wait();
    EXPECT_EQ(queue.state(*a)->phase, JobPhase::Running);
    EXPECT_EQ(queue.state(*b)->phase, JobPhase::Queued);
    first.may_end.set_value();
    second.began.get_future().wait();
    second.may_end.set_value();
    EXPECT_EQ(await_end(queue, *b).result, "b");
}

TEST(JobQueue, CancelsInTheMiddleAndInTheLine) {
    JobQueue queue(1);
    Gate first, second;
    const auto a = queue.submit(first.work());
    const auto b = queue.submit(second.work());
    first.began.get_future().wait();
    EXPECT_TRUE(queue.cancel(*b));
    EXPECT_EQ(queue.state(*b)->phase, JobPhase::Cancelled);
    EXPECT_TRUE(queue.cancel(*a));
    EXPECT_EQ(await_end(queue, *a).phase, JobPhase::Cancelled);
    EXPECT_FALSE(queue.cancel("none"));
}

TEST(JobQueue, AFailureOrADefectEndsTheJobOnly) {
    JobQueue queue(1);
    const auto failed = queue.submit([](const Progress&) -> Result<std::string> {
        return fail(ErrorCode::NotFound, "no pulp can be seen", "scan", "click in the chamber");
    });
    const auto defect = queue.submit(
        [](const Progress&) -> Result<std::string> { throw std::runtime_error("oops"); });
    EXPECT_EQ(await_end(queue, *failed).sentence,
              "scan: no pulp can be seen; click in the chamber.");
    EXPECT_EQ(await_end(queue, *defect).phase, JobPhase::Failed);
    const auto next =
        queue.submit([](const Progress&) -> Result<std::string> { return std::string("ok"); });
    EXPECT_EQ(await_end(queue, *next).result, "ok");
}

TEST(JobQueue, StoppingCancelsWhatRunsAndWhatWaits) {
    auto queue = std::make_unique<JobQueue>(1);
    Gate first, second;
    const auto a = queue->submit(first.work());
    const auto b = queue->submit(second.work());
    first.began.get_future().wait();
    queue->stop();
    EXPECT_EQ(queue->state(*a)->phase, JobPhase::Cancelled);
    EXPECT_EQ(queue->state(*b)->phase, JobPhase::Cancelled);
    EXPECT_FALSE(queue->submit(first.work()));
}

TEST(JobQueue, RefusesAnEndlessLine) {
    JobQueue queue(1);
    Gate gate;
    queue.submit(gate.work());
    gate.began.get_future().wait();
    std::optional<std::string> id("");
    int taken = 0;
    for (; id && taken < 1000; ++taken)
        id = queue.submit([](const Progress&) -> Result<std::string> { return std::string(); });
    EXPECT_LT(taken, 1000);
}

TEST(JobQueue, RemembersTheLastFinishedOnly) {
    JobQueue queue(1);
    std::vector<std::string> ids;
    for (int i = 0; i < 150; ++i) {
        ids.push_back(
            *queue.submit([](const Progress&) -> Result<std::string> { return std::string("x"); }));
        await_end(queue, ids.back());
    }
    EXPECT_FALSE(queue.state(ids.front()));
    EXPECT_TRUE(queue.state(ids.back()));
}

}  // namespace
}  // namespace anfract::server
