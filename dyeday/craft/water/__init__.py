"""The water of a bath: alkalinity, acids, how they dissociate, and the dose that brings a bath to a pH."""
