#include <gtest/gtest.h>

#include "event_channel.h"

namespace anfract::http {
namespace {

// WHATWG HTML, section 9.2.6: a line break inside data starts another data line.
TEST(Event, LineBreaksBecomeDataLines) {
    EXPECT_EQ(format_event("done", "a\nb\r\nc\rd"),
              "event: done\ndata: a\ndata: b\ndata: c\ndata: d\n\n");
    EXPECT_EQ(format_event("x", ""), "event: x\ndata: \n\n");
}

TEST(EventChannel, KeepsOrderAndReplacesOnlyTheSameName) {
    EventChannel channel([] {});
    channel.send("progress", "1", true);
    channel.send("note", "n", false);
    channel.send("progress", "2", true);
    EXPECT_EQ(*channel.take(), format_event("note", "n") + format_event("progress", "2"));
    EXPECT_EQ(*channel.take(), "");
}

TEST(EventChannel, DeliversWhatWasSentBeforeItWasClosed) {
    int wakes = 0;
    EventChannel channel([&] { ++wakes; });
    channel.send("a", "1", false);
    channel.close();
    channel.send("b", "2", false);
    EXPECT_EQ(wakes, 2);
    EXPECT_EQ(*channel.take(), format_event("a", "1"));
    EXPECT_FALSE(channel.take());
}

TEST(EventChannel, GivesUpOnAClientThatDoesNotRead) {
    EventChannel channel([] {});
    for (int i = 0; i < 1000; ++i) channel.send("n", std::to_string(i), false);
    EXPECT_TRUE(channel.closed());
    EXPECT_FALSE(channel.take());
}

TEST(EventChannel, IsSilentOnceAbandoned) {
    int wakes = 0;
    EventChannel channel([&] { ++wakes; });
    channel.abandon();
    channel.send("a", "1", false);
    channel.close();
    EXPECT_EQ(wakes, 0);
}

}  // namespace
}  // namespace anfract::http
