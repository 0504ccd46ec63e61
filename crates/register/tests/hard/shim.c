/* Put before the C library: lets the nth write, sync or truncation of the files of a store fail.
 *
 * FAULT_FILES  a part of the path of those files
 * FAULT_AT     which one fails, from 1
 * FAULT_KIND   eio, enospc, short (half is written and told so), torn (half is written, then no room)
 * FAULT_STAYS  if set, every later one fails too
 * FAULT_MARK   a file that is made once one has failed
 */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/types.h>
#include <unistd.h>

static long count;
static int torn;

static const char *setting(const char *name) {
    const char *value = getenv(name);
    return value ? value : "";
}

static int is_ours(int fd) {
    char link[64], path[4096];
    snprintf(link, sizeof link, "/proc/self/fd/%d", fd);
    ssize_t length = readlink(link, path, sizeof path - 1);
    if (length < 0) return 0;
    path[length] = 0;
    return *setting("FAULT_FILES") && strstr(path, setting("FAULT_FILES")) != NULL;
}

static int is_due(int fd) {
    int saved = errno;
    int ours = is_ours(fd);
    errno = saved;
    if (!ours) return 0;
    long now = __atomic_add_fetch(&count, 1, __ATOMIC_SEQ_CST);
    long at = atol(setting("FAULT_AT"));
    int due = at > 0 && (now == at || (now > at && (*setting("FAULT_STAYS") || torn)));
    if (due) {
        int mark = open(setting("FAULT_MARK"), O_CREAT | O_WRONLY, 0644);
        if (mark >= 0) close(mark);
    }
    return due;
}

static int is_kind(const char *kind) { return strcmp(setting("FAULT_KIND"), kind) == 0; }

static int fail(void) {
    errno = is_kind("eio") ? EIO : ENOSPC;
    return -1;
}

typedef ssize_t (*pwrite_like)(int, const void *, size_t, off_t);

static ssize_t write_at(const char *name, int fd, const void *bytes, size_t size, off_t at) {
    pwrite_like real = (pwrite_like)dlsym(RTLD_NEXT, name);
    if (!is_due(fd)) return real(fd, bytes, size, at);
    if (is_kind("short")) return real(fd, bytes, size > 1 ? size / 2 : size, at);
    if (is_kind("torn") && !torn) {
        torn = 1;
        return real(fd, bytes, size > 1 ? size / 2 : size, at);
    }
    torn = 0;
    return fail();
}

ssize_t pwrite(int fd, const void *bytes, size_t size, off_t at) { return write_at("pwrite", fd, bytes, size, at); }
ssize_t pwrite64(int fd, const void *bytes, size_t size, off_t at) { return write_at("pwrite64", fd, bytes, size, at); }

ssize_t write(int fd, const void *bytes, size_t size) {
    ssize_t (*real)(int, const void *, size_t) = dlsym(RTLD_NEXT, "write");
    if (!is_due(fd)) return real(fd, bytes, size);
    return is_kind("short") ? real(fd, bytes, size > 1 ? size / 2 : size) : fail();
}

static int sync_by(const char *name, int fd) {
    int (*real)(int) = dlsym(RTLD_NEXT, name);
    return is_due(fd) && !is_kind("short") ? fail() : real(fd);
}

int fsync(int fd) { return sync_by("fsync", fd); }
int fdatasync(int fd) { return sync_by("fdatasync", fd); }

static int truncate_by(const char *name, int fd, off_t size) {
    int (*real)(int, off_t) = dlsym(RTLD_NEXT, name);
    return is_due(fd) && !is_kind("short") ? fail() : real(fd, size);
}

int ftruncate(int fd, off_t size) { return truncate_by("ftruncate", fd, size); }
int ftruncate64(int fd, off_t size) { return truncate_by("ftruncate64", fd, size); }
