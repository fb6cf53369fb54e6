#include "scan_cache.h"

#include <gtest/gtest.h>

#include <atomic>
#include <chrono>
#include <thread>

namespace anfract::server {
namespace {

OpenedScan scan_of(std::size_t voxels) {
    OpenedScan scan;
    scan.volume.geometry.size = {static_cast<int>(voxels), 1, 1};
    scan.volume.voxels = Voxels(voxels);
    return scan;
}

TEST(ScanCache, ForgetsWhatWasNotLookedAtForLongest) {
    ScanCache cache(450);
    int loads = 0;
    const auto load = [&]() -> Result<OpenedScan> {
        ++loads;
        return scan_of(100);  // 200 bytes
    };
    cache.get("a", load).value();
    cache.get("b", load).value();
    cache.get("a", load).value();
    EXPECT_EQ(loads, 2);
    cache.get("c", load).value();  // b has to go
    cache.get("a", load).value();
    EXPECT_EQ(loads, 3);
    cache.get("b", load).value();
    EXPECT_EQ(loads, 4);
    EXPECT_LE(cache.held_bytes(), 450u);
}

TEST(ScanCache, HoldsOneScanThatIsLargerThanTheLimit) {
    ScanCache cache(10);
    const auto first = cache.get("a", [] { return Result<OpenedScan>(scan_of(100)); }).value();
    const auto again =
        cache.get("a", []() -> Result<OpenedScan> { throw std::logic_error("loaded twice"); })
            .value();
    EXPECT_EQ(first, again);
}

TEST(ScanCache, LoadsOnceForManyAtATime) {
    ScanCache cache(1 << 20);
    std::atomic<int> loads{0};
    std::vector<std::thread> threads;
    for (int i = 0; i < 8; ++i) {
        threads.emplace_back([&] {
            cache
                .get("a",
                     [&]() -> Result<OpenedScan> {
                         ++loads;
                         std::this_thread::sleep_for(std::chrono::milliseconds(50));
                         return scan_of(10);
                     })
                .value();
        });
    }
    for (std::thread& thread : threads) thread.join();
    EXPECT_EQ(loads, 1);
}

TEST(ScanCache, LoadsItselfWhatAnotherGaveUp) {
    ScanCache cache(1 << 20);
    std::promise<void> loading;
    std::thread other([&] {
        const auto given_up = cache.get("a", [&]() -> Result<OpenedScan> {
            loading.set_value();
            std::this_thread::sleep_for(std::chrono::milliseconds(100));
            return fail(ErrorCode::Cancelled, "stopped before the end");
        });
        EXPECT_FALSE(given_up);
    });
    loading.get_future().wait();
    EXPECT_TRUE(cache.get("a", [] { return Result<OpenedScan>(scan_of(10)); }));
    other.join();
}

TEST(ScanCache, TriesAgainAfterAFailure) {
    ScanCache cache(1 << 20);
    EXPECT_FALSE(
        cache.get("a", []() -> Result<OpenedScan> { return fail(ErrorCode::Io, "gone"); }));
    EXPECT_TRUE(cache.get("a", [] { return Result<OpenedScan>(scan_of(10)); }));
    EXPECT_FALSE(cache.get("b", []() -> Result<OpenedScan> { throw std::bad_alloc(); }));
}

}  // namespace
}  // namespace anfract::server
