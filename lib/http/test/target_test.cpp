#include "anfract/http/target.h"

#include <gtest/gtest.h>

namespace anfract::http {
namespace {

TEST(Target, IsTakenApartAndDecoded) {
    const auto target = parse_target("/api/scans/a%20b?name=x+y%2Bz&empty=&flag");
    ASSERT_TRUE(target);
    EXPECT_EQ(target->segments, (std::vector<std::string>{"api", "scans", "a b"}));
    EXPECT_EQ(target->path(), "/api/scans/a b");
    EXPECT_EQ(target->query.find("name")->second, "x y+z");
    EXPECT_EQ(target->query.find("empty")->second, "");
    EXPECT_EQ(target->query.count("flag"), 1u);
}

TEST(Target, RootHasNoSegments) {
    ASSERT_TRUE(parse_target("/"));
    EXPECT_EQ(parse_target("/")->path(), "/");
    EXPECT_EQ(parse_target("/?a=1")->query.find("a")->second, "1");
}

// Forms of path traversal as in the OWASP list of path traversal encodings.
TEST(Target, RefusesWhatNoHonestClientSends) {
    for (const char* bad : {"", "api", "http://127.0.0.1/", "*", "/..", "/a/../b",
                            "/%2e%2e/etc/passwd", "/.%2e/x", "/a%2fb", "/a%5cb", "/a\\b", "/%00",
                            "/a%0d%0aX:y", "/%", "/%4", "/%zz", "/./a", "/x?a=%zz", "/x?a=%00"}) {
        EXPECT_FALSE(parse_target(bad)) << bad;
    }
}

TEST(Target, DoesNotDecodeTwice) {
    const auto target = parse_target("/%252e%252e");
    ASSERT_TRUE(target);
    EXPECT_EQ(target->segments.at(0), "%2e%2e");
}

}  // namespace
}  // namespace anfract::http
