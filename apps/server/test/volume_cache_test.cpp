#include "volume_cache.h"

#include <gtest/gtest.h>

#include <atomic>
#include <chrono>
#include <thread>

namespace anfract::server {
namespace {

Volume volume_of(std::size_t voxels) {
    Volume volume;
    volume.geometry.size = {static_cast<int>(voxels), 1, 1};
    volume.voxels.resize(voxels);
    return volume;
}

TEST(VolumeCache, ForgetsWhatWasNotLookedAtForLongest) {
    VolumeCache cache(450);
    int loads = 0;
    const auto load = [&]() -> Result<Volume> {
        ++loads;
        return volume_of(100);  // 200 bytes
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

TEST(VolumeCache, HoldsOneScanThatIsLargerThanTheLimit) {
    VolumeCache cache(10);
    const auto first = cache.get("a", [] { return Result<Volume>(volume_of(100)); }).value();
    const auto again =
        cache.get("a", []() -> Result<Volume> { throw std::logic_error("loaded twice"); }).value();
    EXPECT_EQ(first, again);
}

TEST(VolumeCache, LoadsOnceForManyAtATime) {
    VolumeCache cache(1 << 20);
    std::atomic<int> loads{0};
    std::vector<std::thread> threads;
    for (int i = 0; i < 8; ++i) {
        threads.emplace_back([&] {
            cache
                .get("a",
                     [&]() -> Result<Volume> {
                         ++loads;
                         std::this_thread::sleep_for(std::chrono::milliseconds(50));
                         return volume_of(10);
                     })
                .value();
        });
    }
    for (std::thread& thread : threads) thread.join();
    EXPECT_EQ(loads, 1);
}

TEST(VolumeCache, TriesAgainAfterAFailure) {
    VolumeCache cache(1 << 20);
    EXPECT_FALSE(cache.get("a", []() -> Result<Volume> { return fail(ErrorCode::Io, "gone"); }));
    EXPECT_TRUE(cache.get("a", [] { return Result<Volume>(volume_of(10)); }));
    EXPECT_FALSE(cache.get("b", []() -> Result<Volume> { throw std::bad_alloc(); }));
}

}  // namespace
}  // namespace anfract::server
