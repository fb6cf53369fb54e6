#include "reader_client.h"

#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <spawn.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <chrono>
#include <system_error>

#include "anfract/base/descriptor.h"
#include "packed.h"

extern char** environ;

namespace anfract {
namespace {

tl::unexpected<Error> refuse(std::string what, const std::string& where) {
    return fail(ErrorCode::BadInput, std::move(what), where,
                "the file may be damaged or made to do harm; copy or export the scan again");
}

/// What the wait status of a reading process that gave no reply means.
tl::unexpected<Error> failure_of(int status, const std::string& where) {
    if (WIFEXITED(status) && WEXITSTATUS(status) == no_sandbox) {
        return fail(ErrorCode::Io, "scans cannot be read safely on this system", where,
                    "a Linux kernel with seccomp filters is needed");
    }
    switch (WIFSIGNALED(status) ? WTERMSIG(status) : 0) {
        case SIGSYS:
            return refuse("reading it was stopped for a forbidden system call", where);
        case SIGXCPU:
            return refuse("reading it was stopped, it took too much processor time", where);
        case SIGKILL:
            return refuse("reading it was stopped, it took too much memory or time", where);
        default:
            return refuse("the reading process crashed on it", where);
    }
}

}  // namespace

ReaderClient::~ReaderClient() {
    if (control_ < 0) return;
    ::close(control_);
    ::waitpid(pid_, nullptr, 0);
}

bool ReaderClient::start() {
    int ends[2];
    if (::socketpair(AF_UNIX, SOCK_SEQPACKET | SOCK_CLOEXEC, 0, ends) != 0) return false;
    const Descriptor theirs(ends[1]);
    posix_spawn_file_actions_t actions;
    ::posix_spawn_file_actions_init(&actions);
    ::posix_spawn_file_actions_adddup2(&actions, ends[1], STDIN_FILENO);
    // What libraries print about a file is no concern of our caller.
    ::posix_spawn_file_actions_addopen(&actions, STDOUT_FILENO, "/dev/null", O_WRONLY, 0);
    ::posix_spawn_file_actions_addopen(&actions, STDERR_FILENO, "/dev/null", O_WRONLY, 0);
    // What else the program has open, such as connections of its server, is neither its business
    // nor its to keep open.
    ::posix_spawn_file_actions_addclosefrom_np(&actions, STDERR_FILENO + 1);
    posix_spawnattr_t attributes;
    ::posix_spawnattr_init(&attributes);
    // A group of its own: Ctrl-C is for the program, which then ends the call in order.
    ::posix_spawnattr_setflags(&attributes, POSIX_SPAWN_SETPGROUP);
    std::string name = program_.string();
    std::array<char*, 2> arguments{name.data(), nullptr};
    const int error =
        ::posix_spawn(&pid_, name.c_str(), &actions, &attributes, arguments.data(), environ);
    ::posix_spawnattr_destroy(&attributes);
    ::posix_spawn_file_actions_destroy(&actions);
    if (error != 0) {
        ::close(ends[0]);
        return false;
    }
    control_ = ends[0];
    return true;
}

Result<std::string> ReaderClient::call(const std::string& request, int memory_file,
                                       const std::string& where, const ReaderLimits& limits,
                                       const Progress& progress, const Taker& take) {
    int call[2];
    int status[2];
    if (::socketpair(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0, call) != 0)
        return fail(ErrorCode::Io, "too many files are open", where, "close some");
    const Descriptor ours(call[0]);
    Descriptor theirs(call[1]);
    if (::pipe2(status, O_CLOEXEC) != 0)
        return fail(ErrorCode::Io, "too many files are open", where, "close some");
    const Descriptor end(status[0]);
    Descriptor their_end(status[1]);
    {
        const std::lock_guard lock(starting_);
        const int files[3] = {theirs.get(), memory_file, their_end.get()};
        bool sent = control_ >= 0 && send_call(control_, limits, files);
        if (!sent) {
            if (control_ >= 0) {  // it has gone: a new one
                ::close(control_);
                ::waitpid(pid_, nullptr, 0);
                control_ = -1;
            }
            sent = start() && send_call(control_, limits, files);
        }
        if (!sent) {
            return fail(ErrorCode::Io, "the program that reads scans cannot be started",
                        program_.string(), "install the program again");
        }
    }
    theirs.close();
    their_end.close();
    return converse(ours.get(), end.get(), request, where, limits, progress, take);
}

Result<std::string> ReaderClient::converse(int call, int status, const std::string& request,
                                           const std::string& where, const ReaderLimits& limits,
                                           const Progress& progress, const Taker& take) {
    using Clock = std::chrono::steady_clock;
    const auto stopped = [] { return fail(ErrorCode::Cancelled, "reading was stopped"); };
    send_message(call, MessageKind::Request, request);
    auto last_word = Clock::now();
    IncomingMessage message;
    for (;;) {
        pollfd wait{call, POLLIN, 0};
        const int ready = ::poll(&wait, 1, 100);
        if (progress.cancelled()) return stopped();
        auto state = IncomingMessage::State::Partial;
        if (ready > 0) state = message.take(call, IncomingMessage::Wait::No);
        if (state == IncomingMessage::State::Broken) break;
        if (state == IncomingMessage::State::Partial) {
            // Only a whole message is a word: single bytes do not buy time.
            if (std::chrono::duration<double>(Clock::now() - last_word).count() > limits.quiet_s)
                return refuse("reading it was stopped, it took too long", where);
            continue;
        }
        const MessageKind kind = message.kind();
        std::string bytes = std::move(message.bytes());
        message = {};
        last_word = Clock::now();
        if (kind == MessageKind::Reply) return bytes;
        if (kind == MessageKind::Progress) {
            double fraction = 0;
            std::string stage;
            Unpacker from(bytes);
            from >> fraction >> stage;
            if (from.finished()) progress.report(std::clamp(fraction, 0.0, 1.0), stage);
        } else if (std::string what = take ? take(kind, bytes) : ""; !what.empty()) {
            return refuse(std::move(what), where);
        }
    }
    // It has ended without a reply; one that still runs is stuck, and is ended when the pipe is
    // closed.
    int how = 0;
    pollfd wait{status, POLLIN, 0};
    if (::poll(&wait, 1, 10000) != 1 || ::read(status, &how, sizeof how) != ssize_t(sizeof how))
        return refuse("the reading process ended before it was done", where);
    if (progress.cancelled()) return stopped();
    return failure_of(how, where);
}

ReaderClient& scan_reader() {
    // One for the whole program, since it takes a moment to start.
    static ReaderClient client = [] {
        std::error_code error;
        const auto self = std::filesystem::read_symlink("/proc/self/exe", error);
        return ReaderClient(self.parent_path() / "anfract_scan_reader");
    }();
    return client;
}

}  // namespace anfract
