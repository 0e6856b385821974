#!/usr/bin/perl
# A message center for one connection, made of the Perl module Net::SMPP (Debian:
# libnet-smpp-perl), which shares no code with ours. It takes a bind, answers each
# submit_sm and sends its receipt, brings some texts after the first, and prints what it
# made of each unit as "command field=value ...", octets in hexadecimal.
use strict;
use warnings;
use Net::SMPP;

$| = 1;
my $listener = Net::SMPP->new_listen('127.0.0.1', port => 0, system_id => 'center')
    or die "cannot listen: $!";
print "port ", $listener->sockport, "\n";
my $peer = $listener->accept or die "nobody came: $!";
my $submits = 0;
my %name = (1 => 'bind_receiver', 2 => 'bind_transmitter', 4 => 'submit_sm', 6 => 'unbind',
    9 => 'bind_transceiver', 0x15 => 'enquire_link', 0x80000005 => 'deliver_sm_resp', 0x80000015 => 'enquire_link_resp',
    0x80000006 => 'unbind_resp', 0x80000000 => 'generic_nack');

sub told {
    my ($pdu) = @_;
    my @fields = map { "$_=" . (defined $pdu->{$_} ? ($_ =~ /message|payload|reference|sar/ ? unpack('H*', $pdu->{$_}) : $pdu->{$_}) : '') }
        grep { !/^(data|cmd|known_pdu|reserved|\d+)$/ } sort keys %$pdu;
    print join(' ', $name{ $pdu->{cmd} } // sprintf('0x%08X', $pdu->{cmd}), @fields), "\n";
}

# brought sends a deliver_sm from the owner to the line and does not wait for its answer.
sub brought {
    $peer->deliver_sm(async => 1, source_addr_ton => 1, source_addr_npi => 1, source_addr => '15415550142',
        dest_addr_ton => 1, dest_addr_npi => 1, destination_addr => '15415550100', @_);
}

while (my $pdu = $peer->read_pdu()) {
    told($pdu);
    if ($pdu->{cmd} == 9) {
        $peer->bind_transceiver_resp(seq => $pdu->{seq}, status => 0);
        $peer->enquire_link(async => 1);
    }
    elsif ($pdu->{cmd} == 4) {
        my $id = sprintf('%X', 0xA0 + ++$submits);
        $peer->submit_sm_resp(seq => $pdu->{seq}, status => 0, message_id => $id);
        brought(esm_class => 4, short_message =>
            "id:$id sub:001 dlvrd:001 submit date:2611250900 done date:2611250901 stat:DELIVRD err:000 text:");
        next if $submits > 1;
        brought(short_message => 'chlorine 3');
        brought(data_coding => 8, short_message => "\x00s\x00\xED");
        brought(esm_class => 0x40, short_message => "\x05\x00\x03\x2A\x02\x02alkalinity 90");
        brought(esm_class => 0x40, short_message => "\x05\x00\x03\x2A\x02\x01ph 7.2 and ");
        brought(short_message => '', message_payload => 'a payload');
    }
    elsif ($pdu->{cmd} == 0x15) { $peer->enquire_link_resp(seq => $pdu->{seq}, status => 0); }
    elsif ($pdu->{cmd} == 6) {
        $peer->unbind_resp(seq => $pdu->{seq}, status => 0);
        last;
    }
}
