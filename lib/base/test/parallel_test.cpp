#include "anfract/base/parallel.h"

#include <gtest/gtest.h>

#include <stdexcept>
#include <vector>

namespace anfract {

TEST(ParallelFor, CoversEveryIndexOnceWithAnyNumberOfThreads) {
    for (unsigned threads : {1u, 2u, 7u}) {
        std::vector<int> seen(1001, 0);
        parallel_for(seen.size(), threads, [&](std::size_t begin, std::size_t end) {
            for (std::size_t i = begin; i < end; ++i) ++seen[i];
        });
        EXPECT_EQ(seen, std::vector<int>(1001, 1));
    }
}

TEST(ParallelFor, HandsOnTheBodysException) {
    EXPECT_THROW(
        parallel_for(100, 3, [](std::size_t, std::size_t) { throw std::runtime_error("x"); }),
        std::runtime_error);
}

TEST(ParallelFor, DoesNothingForAnEmptyRange) {
    parallel_for(0, 4, [](std::size_t, std::size_t) { FAIL(); });
}

TEST(SideBySide, CarriesOutEveryTaskOnceWithAnyNumberOfThreads) {
    for (unsigned threads : {1u, 2u, 7u}) {
        int first = 0, second = 0, third = 0;
        side_by_side(threads, {[&] { ++first; }, [&] { ++second; }, [&] { ++third; }});
        EXPECT_EQ(first, 1);
        EXPECT_EQ(second, 1);
        EXPECT_EQ(third, 1);
    }
}

TEST(SideBySide, HandsOnATasksException) {
    EXPECT_THROW(side_by_side(2, {[] {}, [] { throw std::runtime_error("x"); }}),
                 std::runtime_error);
}

}  // namespace anfract
