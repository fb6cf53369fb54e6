#include "reader_host.h"

#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <sys/signalfd.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <cstdlib>
#include <vector>

#include "sandbox.h"

namespace anfract {
namespace {

struct Child {
    pid_t pid = 0;
    int status_pipe = -1;
    bool killed = false;
};

class Host {
  public:
    Host(int control, const ReaderWork& work) : control_(control), work_(work) {
        ::sigemptyset(&mask_);
        ::sigaddset(&mask_, SIGCHLD);
        ::sigprocmask(SIG_BLOCK, &mask_, nullptr);
        ended_ = ::signalfd(-1, &mask_, SFD_CLOEXEC | SFD_NONBLOCK);
        ::signal(SIGPIPE, SIG_IGN);
    }

    int run() {
        for (;;) {
            std::vector<pollfd> waits{{control_, POLLIN, 0}, {ended_, POLLIN, 0}};
            for (const Child& child : children_)
                waits.push_back({child.killed ? -1 : child.status_pipe, 0, 0});
            if (::poll(waits.data(), nfds_t(waits.size()), -1) < 0) continue;
            for (std::size_t n = 0; n < children_.size(); ++n) {
                if (waits[n + 2].revents != 0) kill(children_[n]);
            }
            if (waits[1].revents != 0) collect();
            if (waits[0].revents != 0 && !begin_call()) break;
        }
        for (Child& child : children_) kill(child);
        return 0;
    }

  private:
    static void kill(Child& child) {
        ::kill(child.pid, SIGKILL);
        child.killed = true;
    }

    bool begin_call() {
        ReaderLimits limits;
        int files[3] = {-1, -1, -1};
        if (!receive_call(control_, limits, files)) return false;
        const pid_t pid = ::fork();
        if (pid == 0) work(limits, files[0], files[1], files[2]);
        ::close(files[0]);
        ::close(files[1]);
        if (pid > 0) {
            children_.push_back({pid, files[2], false});
        } else {
            ::close(files[2]);
        }
        return true;
    }

    /// In the child.
    [[noreturn]] void work(const ReaderLimits& limits, int call, int memory_file, int status_pipe) {
        for (const Child& other : children_) ::close(other.status_pipe);
        ::close(status_pipe);
        ::close(control_);
        ::close(ended_);
        ::signal(SIGPIPE, SIG_DFL);
        ::sigprocmask(SIG_UNBLOCK, &mask_, nullptr);
        if (!enter_sandbox(limits).empty()) ::_exit(no_sandbox);
        work_(call, memory_file);
        ::_exit(0);
    }

    /// Tells the callers of children that have ended how they ended.
    void collect() {
        signalfd_siginfo info;
        while (::read(ended_, &info, sizeof info) > 0) {
        }
        int status = 0;
        for (pid_t pid = 0; (pid = ::waitpid(-1, &status, WNOHANG)) > 0;) {
            const auto child = std::find_if(children_.begin(), children_.end(),
                                            [&](const Child& c) { return c.pid == pid; });
            if (child == children_.end()) continue;
            // A caller that has gone does not mind.
            (void)!::write(child->status_pipe, &status, sizeof status);
            ::close(child->status_pipe);
            children_.erase(child);
        }
    }

    const int control_;
    const ReaderWork& work_;
    sigset_t mask_;
    int ended_ = -1;
    std::vector<Child> children_;
};

}  // namespace

int run_reader_host(int control, const ReaderWork& work) { return Host(control, work).run(); }

}  // namespace anfract
