#include "reader_channel.h"

#include <sys/socket.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>

namespace anfract {
namespace {

constexpr std::uint32_t longest_message = std::uint32_t{1} << 28;

bool send_all(int fd, const char* bytes, std::size_t count) {
    while (count > 0) {
        const ssize_t n = ::send(fd, bytes, count, MSG_NOSIGNAL);
        if (n < 0 && errno == EINTR) continue;
        if (n <= 0) return false;
        bytes += n;
        count -= std::size_t(n);
    }
    return true;
}

union Ancillary {
    cmsghdr align;
    char bytes[CMSG_SPACE(3 * sizeof(int))];
};

}  // namespace

bool send_message(int socket, MessageKind kind, std::string_view bytes) {
    if (bytes.size() > longest_message) return false;
    const auto size = std::uint32_t(bytes.size());
    // One block, so that messages from several threads do not mix.
    std::string whole(1, char(kind));
    whole.append(reinterpret_cast<const char*>(&size), sizeof size);
    whole += bytes;
    return send_all(socket, whole.data(), whole.size());
}

IncomingMessage::State IncomingMessage::take(int socket, Wait wait) {
    const bool in_head = taken_ < head_.size();
    const std::size_t place = in_head ? taken_ : taken_ - head_.size();
    char* const to = (in_head ? head_.data() : bytes_.data()) + place;
    const std::size_t wanted = (in_head ? head_.size() : bytes_.size()) - place;
    // The jail of the reading process, which waits, allows no recv.
    const ssize_t n =
        wait == Wait::No ? ::recv(socket, to, wanted, MSG_DONTWAIT) : ::read(socket, to, wanted);
    if (n < 0 && (errno == EINTR || errno == EAGAIN)) return State::Partial;
    if (n <= 0) return State::Broken;
    taken_ += std::size_t(n);
    if (in_head && taken_ == head_.size()) {
        std::uint32_t size = 0;
        std::memcpy(&size, head_.data() + 1, sizeof size);
        if (head_[0] < 0 || head_[0] > char(MessageKind::Reply) || size > longest_message)
            return State::Broken;
        bytes_.resize(size);
    }
    return taken_ == head_.size() + bytes_.size() ? State::Whole : State::Partial;
}

bool receive_message(int socket, MessageKind& kind, std::string& bytes) {
    IncomingMessage message;
    auto state = IncomingMessage::State::Partial;
    while (state == IncomingMessage::State::Partial)
        state = message.take(socket, IncomingMessage::Wait::Yes);
    if (state == IncomingMessage::State::Broken) return false;
    kind = message.kind();
    bytes = std::move(message.bytes());
    return true;
}

bool send_call(int control, const ReaderLimits& limits, const int (&files)[3]) {
    ReaderLimits sent = limits;
    iovec part{&sent, sizeof sent};
    Ancillary room{};
    msghdr message{};
    message.msg_iov = &part;
    message.msg_iovlen = 1;
    message.msg_control = room.bytes;
    message.msg_controllen = sizeof room.bytes;
    cmsghdr* const head = CMSG_FIRSTHDR(&message);
    head->cmsg_level = SOL_SOCKET;
    head->cmsg_type = SCM_RIGHTS;
    head->cmsg_len = CMSG_LEN(sizeof files);
    std::memcpy(CMSG_DATA(head), files, sizeof files);
    return ::sendmsg(control, &message, MSG_NOSIGNAL) == ssize_t(sizeof sent);
}

bool receive_call(int control, ReaderLimits& limits, int (&files)[3]) {
    iovec part{&limits, sizeof limits};
    Ancillary room{};
    msghdr message{};
    message.msg_iov = &part;
    message.msg_iovlen = 1;
    message.msg_control = room.bytes;
    message.msg_controllen = sizeof room.bytes;
    ssize_t n = 0;
    do {
        n = ::recvmsg(control, &message, MSG_CMSG_CLOEXEC);
    } while (n < 0 && errno == EINTR);
    const cmsghdr* const head = n == ssize_t(sizeof limits) ? CMSG_FIRSTHDR(&message) : nullptr;
    if (head == nullptr || head->cmsg_type != SCM_RIGHTS ||
        head->cmsg_len != CMSG_LEN(sizeof files)) {
        return false;
    }
    std::memcpy(files, CMSG_DATA(head), sizeof files);
    return true;
}

}  // namespace anfract
