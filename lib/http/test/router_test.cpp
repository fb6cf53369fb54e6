#include "anfract/http/router.h"

#include <gtest/gtest.h>

namespace anfract::http {
namespace {

Router small_router() {
    Router router;
    const Handler nothing = [](Request&) { return Response{}; };
    router.add("GET", "/things", nothing);
    router.add("POST", "/things", nothing, BodyRule::json());
    router.add("GET", "/things/{id}/part", nothing);
    return router;
}

TEST(Router, FindsByMethodAndPattern) {
    const Router router = small_router();
    EXPECT_EQ(router.find("GET", *parse_target("/things")).status, 200);
    EXPECT_EQ(router.find("POST", *parse_target("/things")).route->body.kind,
              BodyRule::Kind::Memory);
    const auto match = router.find("GET", *parse_target("/things/7/part"));
    ASSERT_TRUE(match.route);
    EXPECT_EQ(match.parameters.at("id"), "7");
}

TEST(Router, AnswersHeadWhereItAnswersGet) {
    EXPECT_EQ(small_router().find("HEAD", *parse_target("/things")).status, 200);
}

// RFC 9110, section 15.5.6: 405 comes with Allow.
TEST(Router, NamesTheMethodsThatArePossible) {
    const auto match = small_router().find("DELETE", *parse_target("/things"));
    EXPECT_EQ(match.status, 405);
    EXPECT_EQ(match.allow, "GET, HEAD, POST");
    EXPECT_FALSE(match.route);
}

TEST(Router, KnowsNothingElse) {
    const Router router = small_router();
    for (const char* path : {"/", "/thing", "/things/7", "/things/7/part/x", "/{id}"}) {
        EXPECT_EQ(router.find("GET", *parse_target(path)).status, 404) << path;
    }
}

TEST(Router, FallbackTakesGetOnly) {
    Router router = small_router();
    router.set_fallback([](Request&) { return Response{}; });
    EXPECT_EQ(router.find("GET", *parse_target("/page")).status, 200);
    EXPECT_EQ(router.find("POST", *parse_target("/page")).status, 405);
}

}  // namespace
}  // namespace anfract::http
